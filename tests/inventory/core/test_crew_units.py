"""The one formatter: what a crew reads, and that pages write the very same texts."""

import copy
import json
import random
import subprocess
from dataclasses import asdict, dataclass
from pathlib import Path

import pytest

from crews.api.render import json_bytes
from inventory.core.crew_units import IN_MM, CrewUnits, Sentence
from inventory.core.measure import Unit, WeightUnit

TRADE = CrewUnits(unit=Unit.FT_IN)
METRIC = CrewUnits(unit=Unit.M)
LENGTHS_JS = Path(__file__).parents[3] / "crews/static/crews/lengths.js"


@dataclass(frozen=True)
class Crew:
    length_unit: str = "ft_in"
    weight_unit: str | None = None
    fraction: int = 8


def test_weights_go_with_lengths_until_the_crew_chooses() -> None:
    assert TRADE.weight(209.6) == "462 lb"
    assert METRIC.weight(209.6) == "210 kg"
    assert CrewUnits(unit=Unit.FT_IN, weight_unit=WeightUnit.KG).weight(209.6) == "210 kg"
    assert CrewUnits.of(Crew(length_unit="m", weight_unit="lb")).weight(209.6) == "462 lb"


def test_a_truck_load_is_told_in_tonnes_or_thousands_of_pounds() -> None:
    assert METRIC.weight(12_383) == "12.4 t"
    assert TRADE.weight(12_383) == "27,300 lb"


def test_volumes_and_densities() -> None:
    assert (TRADE.volume(0.80354), METRIC.volume(0.80354)) == ("28.4 ft³", "0.804 m³")
    assert (TRADE.density(673), METRIC.density(673)) == ("42 lb/ft³", "673 kg/m³")


def test_an_error_is_finer_than_the_tape_and_never_nothing() -> None:
    assert (TRADE.error(4), METRIC.error(4)) == ('3/16"', "4 mm")
    assert (TRADE.error(0.2), METRIC.error(0.2)) == ('1/16"', "1 mm")


def test_taper_by_the_foot() -> None:
    assert (TRADE.taper(10), METRIC.taper(10)) == ('1/8" a foot', "10 mm a metre")


def test_a_sentence_is_read_in_the_units_of_whoever_asks() -> None:
    said = Sentence("A {kind} {at:along} from the butt, {deep:across} deep.", kind="knot", at=879.4, deep=30)

    assert said == "A knot 879 mm from the butt, 30 mm deep."
    assert said.in_units(TRADE) == 'A knot 2\' 10 5/8" from the butt, 1 1/8" deep.'
    assert TRADE.say(ValueError(said)) == said.in_units(TRADE)


def test_a_sentence_holds_others_and_errors() -> None:
    inner = ValueError(Sentence("no log of {long:along}", long=304.8))
    outer = Sentence("{why}; at {share:.0%}", why=inner, share=0.5)

    assert outer.in_units(TRADE) == "no log of 1' 0\"; at 50%"
    assert (
        Sentence.joined([outer, "and plain {text}"], by=" ").in_units(TRADE).endswith("50% and plain {text}")
    )


def test_a_sentence_is_copied_whole() -> None:
    @dataclass
    class Row:
        text: str

    said = Sentence("{at:along}", at=304.8)

    for copied in (copy.deepcopy(said), asdict(Row(said))["text"], TRADE.told([{"a": said}])[0]["a"]):
        assert TRADE.say(copied) == "1' 0\""


def test_an_answer_is_written_for_the_crew_that_asked() -> None:
    answer = {
        "detail": Sentence("{at:along}", at=304.8),
        "rows": [Sentence("{w:weight}", w=1)],
        "at_mm": 304.8,
    }

    assert json.loads(json_bytes(answer, reader=Crew())) == {
        "detail": "1' 0\"",
        "rows": ["2 lb"],
        "at_mm": 304.8,
    }
    assert json.loads(json_bytes(answer))["detail"] == "305 mm"


CROWNS = [[None, None], [0, "top"], [69.85, "top"], [30, "bottom"], [30, "left"], [30, None], [0.4, "top"]]


def test_a_crown_is_told_with_its_side() -> None:
    assert TRADE.crown(69.85, "top") == '2 3/4", up'
    assert TRADE.crown(69.85, None) == '2 3/4", side not charted'
    assert (TRADE.crown(0, None), TRADE.crown(None, None)) == ("straight", "not looked at")
    assert TRADE.crown(0.4, "top") == "straight", "as its length would be written"


def crews() -> list[Crew]:
    return [
        Crew(length_unit=unit, weight_unit=weight, fraction=fraction)
        for unit in Unit
        for weight in (None, "kg", "lb")
        for fraction in (2, 4, 8, 16, 32)
    ]


@pytest.mark.parametrize("seed", [3])
def test_pages_write_the_same_texts(seed: int) -> None:
    chance = random.Random(seed)
    values = [
        0.0,
        -0.2,
        0.4,
        1.5875,
        3.175,
        12.7,
        304.8,
        -304.8,
        1219.2,
        293.6875,
        10_000.0,
        9_999.96,
        4_535.9237,
    ]
    values += [chance.uniform(-3, 3) for _ in range(40)] + [chance.uniform(-700, 30_000) for _ in range(300)]
    values += [chance.randrange(1, 12_000) * 25.4 / 32 for _ in range(100)]
    asked = [asdict(crew) for crew in crews()]
    program = f"""
        import {{ writer }} from {json.dumps(LENGTHS_JS.as_uri())};
        const {{ crews, values }} = JSON.parse(await new Response(process.stdin).text());
        console.log(JSON.stringify(crews.map((crew) => {{
          const by = writer(crew);
          const ways = [by.long, by.thick, by.error, by.weight, by.volume];
          const crowns = {json.dumps(CROWNS)}.map(([mm, side]) => by.crown(mm, side));
          return [crowns, ...values.map((one) => ways.map((write) => write(one)))];
        }})));
    """

    said = subprocess.run(
        ["node", "--input-type=module", "-e", program],
        input=json.dumps({"crews": asked, "values": values}),
        capture_output=True,
        text=True,
        check=False,
    )

    assert said.returncode == 0, said.stderr
    for crew, texts in zip(crews(), json.loads(said.stdout), strict=True):
        units = CrewUnits.of(crew)
        assert [units.crown(mm, side) for mm, side in CROWNS] == texts[0]
        for value, there in zip(values, texts[1:], strict=True):
            here = [units.along(value), units.across(value), units.error(value)]
            assert [*here, units.weight(value), units.volume(value)] == there, (crew, value)


def test_without_a_crew_it_is_millimetres() -> None:
    assert IN_MM.say(Sentence("{at:across}", at=12)) == "12 mm"
