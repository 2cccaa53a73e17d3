"""Lines as crews say them: what is read, and what is asked instead of guessed."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.chart_cells import Units
from inventory.core.chart_line import HazardKind
from inventory.core.chart_rules import LONGEST_LOG_MM, SHORTEST_LOG_MM, THICKEST_MM, THINNEST_MM
from inventory.core.measure import Unit
from inventory.core.spoken_line import LONGEST_LINE, Ask, SpokenLine, read_spoken_line
from tests.inventory.core.spoken import Phrasing, as_json, phrasings

ALL = phrasings()
UNITS = st.sampled_from(list(Unit))
WORDS = """
butt middle tip length crown wire knot from the butt top end seventeen fifteen and three quarters half a an
eighths foot feet inch in cm m 17 3/4 5,89 13.5 , . ; - ' " by x no slight at long log number grain left one
straight for peeled remark thirty seconds hundred thousand point oh rot
""".split()  # noqa: SIM905 - read at a glance


def read(text: str, unit: Unit) -> SpokenLine:
    return read_spoken_line(text, units=Units.of(unit))


@pytest.mark.parametrize("one", ALL, ids=[f"{n}: {one.text[:40]}" for n, one in enumerate(ALL)])
def test_a_phrasing_is_read_or_asked(one: Phrasing):
    line = read(one.text, one.unit)

    assert as_json(line.fields) == one.fields
    assert {question.field: str(question.code) for question in line.questions} == one.asks


def test_there_are_as_many_phrasings_as_were_wanted():
    assert len({(one.text, one.unit) for one in ALL}) >= 150


@given(st.text(max_size=LONGEST_LINE + 20), UNITS)
def test_no_text_breaks_it(text, unit):
    holds(text, read(text, unit))


@given(st.lists(st.sampled_from(WORDS), max_size=40).map(" ".join), UNITS)
def test_no_row_of_its_own_words_breaks_it(text, unit):
    holds(text, read(text, unit))


def holds(text: str, line: SpokenLine) -> None:
    """What is read could be a log's; no field is both read and asked, but for the further hazards."""
    asked = {question.field for question in line.questions}
    assert not asked & set(line.fields) - {"hazards"}
    for name in ("butt_mm", "middle_mm", "tip_mm"):
        assert THINNEST_MM <= line.fields.get(name, THINNEST_MM) <= THICKEST_MM
    assert SHORTEST_LOG_MM <= line.fields.get("length_mm", SHORTEST_LOG_MM) <= LONGEST_LOG_MM
    for one in line.fields.get("hazards", []):
        assert one["kind"] in list(HazardKind)
        assert 0 <= one["from_butt_mm"] <= line.fields.get("length_mm", one["from_butt_mm"])
    for one in line.fields.get("read_across", []):
        assert line.fields[f"{one['station']}_mm"] == one["first_mm"]
    assert all(question.text and len(question.read) <= 2 * LONGEST_LINE for question in line.questions)
    if len(text) > LONGEST_LINE:
        assert not line.fields
        assert [question.code for question in line.questions] == [Ask.LINE_TOO_LONG]


@pytest.mark.parametrize("word", ["1 ", "and ", "a ", ",", "in the ", "slight ", "butt ", "9" * 9 + " ", "x"])
def test_a_line_as_long_as_may_be_is_read_at_once(word):
    read((word * LONGEST_LINE)[:LONGEST_LINE], Unit.FT_IN)
