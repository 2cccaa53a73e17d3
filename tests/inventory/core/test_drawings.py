"""Drawings of logs and yards: true to measure, sound XML whatever is written in a remark."""

import math
import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.crew_units import CrewUnits
from inventory.core.drawings.frame import axis_steps, pen_for
from inventory.core.drawings.hazards import HazardToDraw
from inventory.core.drawings.log import LogToDraw, PieceOfLog, draw_log
from inventory.core.drawings.pen import Pen
from inventory.core.drawings.svg import BadDrawing, mark, written
from inventory.core.drawings.yard import LogInYard, binned, draw_yard
from inventory.core.lifting import balance_point_mm
from inventory.core.measure import Unit
from inventory.core.profile import diameter_mm_at, profile_of

SVG = "{http://www.w3.org/2000/svg}"
MM = CrewUnits(unit=Unit.MM)
FEET = CrewUnits(unit=Unit.FT_IN, fraction=8)


def a_log(**changes: object) -> LogToDraw:
    """A butt log of 6 m that thins fast near its butt."""
    profile = profile_of(length_mm=6000, butt_mm=360, middle_mm=310, tip_mm=285, further=[(1500.0, 330.0)])
    usual = LogToDraw(number="A7", about="spruce, rack 2", profile=profile, units=MM)
    return replace(usual, **changes)  # type: ignore[arg-type]


def texts(svg: str) -> list[str]:
    return ["".join(one.itertext()) for one in ET.fromstring(svg).iter(f"{SVG}text")]


def edges_at(polygon: ET.Element, x: float) -> list[float]:
    """Where a polygon's outline lies at a position, from its drawn points alone."""
    points = [tuple(map(float, pair.split(","))) for pair in polygon.attrib["points"].split()]
    found = set()
    for (x0, y0), (x1, y1) in zip(points, [*points[1:], points[0]], strict=True):
        if x0 != x1 and min(x0, x1) <= x <= max(x0, x1):
            found.add(round(y0 + (y1 - y0) * (x - x0) / (x1 - x0), 3))
    return sorted(found)


@pytest.mark.parametrize("at_mm", [0, 305, 1500, 3000, 5695, 6000, 2222])
def test_a_log_is_drawn_as_thick_as_it_is_charted(at_mm: float):
    log = a_log()

    drawn = ET.fromstring(draw_log(log)).find(f".//{SVG}polygon[@data-log='A7']")

    assert drawn is not None
    upper, lower = edges_at(drawn, at_mm)
    assert lower - upper == pytest.approx(diameter_mm_at(log.profile, at_mm), abs=0.01)


def test_every_station_tells_its_diameter_and_its_place():
    found = texts(draw_log(a_log()))

    assert {"⌀ 360 mm", "⌀ 330 mm", "⌀ 310 mm", "⌀ 285 mm"} <= set(found)
    assert {"at 305 mm", "at 1500 mm", "at 3000 mm", "at 5695 mm"} <= set(found)


def test_a_crew_that_reads_inches_sees_inches():
    found = " ".join(texts(draw_log(a_log(units=FEET))))

    assert "19' 8 1/4\"" in found
    assert '⌀ 14 1/8"' in found
    assert " mm" not in found


def test_metal_is_told_in_signs_in_words_and_to_a_screen_reader():
    log = a_log(hazards=(HazardToDraw(kind="metal", from_butt_mm=1200, extent_mm=150, face="left"),))

    root = ET.fromstring(draw_log(log))

    assert "metal at 1200 mm to 1350 mm, left" in texts(draw_log(log))
    assert "Metal in this log" in (root.findtext(f"{SVG}desc") or "")
    assert "metal 1200 mm from the butt" in (root.findtext(f"{SVG}desc") or "")


def test_words_of_many_dangers_lie_in_rows_of_their_own():
    near = tuple(HazardToDraw(kind="knot", from_butt_mm=1000.0 + 40 * n) for n in range(5))

    root = ET.fromstring(draw_log(a_log(hazards=near)))

    rows = [
        float(one.attrib["y"])
        for one in root.iter(f"{SVG}text")
        if "".join(one.itertext()).startswith("knot at")
    ]
    assert len(set(rows)) == 5


def test_the_balance_point_of_each_piece_is_the_one_that_is_reckoned():
    log = a_log(
        pieces=(
            PieceOfLog(from_butt_mm=100, to_mm=3100, words="Hut, wall A round 1", is_set=True),
            PieceOfLog(from_butt_mm=3200, to_mm=5900, words="Hut, wall B round 2", is_set=False),
        )
    )

    root = ET.fromstring(draw_log(log))

    marked = [float(one.attrib["data-balance"]) for one in root.iter() if "data-balance" in one.attrib]
    reckoned = [
        near + balance_point_mm(log.profile, from_butt_mm=near, to_mm=far)
        for near, far in ((100, 3100), (3200, 5900))
    ]
    assert marked == pytest.approx(reckoned, abs=0.06)


def test_a_bow_and_a_crook_are_drawn_with_their_measure():
    log = a_log(crown_mm=24, crown_side="left", crown_at_mm=2500, crook_mm=15, crook_at_mm=4000)

    found = texts(draw_log(log))

    assert "crown 24 mm, left, drawn ten times" in found
    assert "crook 15 mm, drawn ten times" in found


def test_a_piece_beyond_the_log_is_not_drawn():
    beyond = PieceOfLog(from_butt_mm=4000, to_mm=6100, words="too long", is_set=False)

    with pytest.raises(BadDrawing, match="6100"):
        draw_log(a_log(pieces=(beyond,)))


@given(words=st.text(max_size=60))
def test_no_remark_breaks_the_drawing_or_becomes_part_of_it(words: str):
    hostile = f'</text><script>alert("{words}")</script>]]>&{words}'

    root = ET.fromstring(draw_log(a_log(remarks=hostile, number=f"<b>{words}")))

    assert not [one for one in root.iter() if one.tag.endswith("script")]
    assert {one.tag.removeprefix(SVG) for one in root.iter()} <= {
        "svg", "title", "desc", "defs", "pattern", "g", "rect", "line", "polygon", "polyline", "circle",
        "text",
    }  # fmt: skip


def test_a_drawing_has_a_title_a_description_and_its_size_on_paper():
    root = ET.fromstring(draw_log(a_log()))

    ids = root.attrib["aria-labelledby"].split()
    assert [one.attrib["id"] for one in root[:2]] == ids
    assert root.attrib["role"] == "img"
    width = float(root.attrib["viewBox"].split()[2])
    assert float(root.attrib["width"].removesuffix("mm")) == pytest.approx(width / 25, abs=0.01)
    assert any("1 : 25" in words for words in texts(draw_log(a_log())))


def test_no_number_without_end_enters_a_drawing():
    with pytest.raises(BadDrawing):
        mark("line", x1=math.nan)
    with pytest.raises(BadDrawing):
        mark("line", x1=math.inf)


def test_a_small_number_is_written_plainly():
    assert written(mark("circle", r=-0.0001, cx=12.5, cy=None)) == '<circle r="0" cx="12.5"/>'


def test_the_scale_is_the_largest_usual_one_that_fits():
    assert pen_for("x", width_mm=6000, height_mm=3000).scale == 25
    assert pen_for("x", width_mm=12000, height_mm=3000).scale == 50
    assert pen_for("x", width_mm=1e6, height_mm=1.0).scale == 500


def test_a_text_too_long_for_its_place_is_cut_with_a_sign():
    pen = Pen(key="x", scale=1)

    assert pen.fitted("Log 17", width=100, size=3) == "Log 17"
    assert pen.fitted("A very long name of a log", width=20, size=3).endswith("…")
    assert pen.fitted("Log", width=1, size=3) == ""


@given(sizes=st.lists(st.tuples(st.floats(100, 900), st.booleans()), max_size=60), bin_mm=st.floats(5, 50))
def test_every_log_is_counted_once_in_the_bin_it_belongs_to(sizes: list[tuple[float, bool]], bin_mm: float):
    bins = binned(sizes, bin_mm=bin_mm)

    assert sum(one.free + one.reserved for one in bins) == len(sizes)
    assert sum(one.reserved for one in bins) == sum(reserved for _, reserved in sizes)
    assert len(bins) <= 42
    for size, _ in sizes:
        assert any(one.from_mm - 1e-6 <= size <= one.to_mm + 1e-6 for one in bins)


def test_a_yard_shows_what_is_free_and_what_is_reserved():
    logs = [LogInYard(middle_mm=300 + n, length_mm=5000 + 100 * n, is_reserved=n < 4) for n in range(10)]

    svg = draw_yard("North yard", logs, units=MM)

    bars = [one.attrib for one in ET.fromstring(svg).iter() if "data-free" in one.attrib]
    assert sum(int(one["data-free"]) for one in bars) == 2 * 6
    assert sum(int(one["data-reserved"]) for one in bars) == 2 * 4
    assert "10 logs lie here: 6 free, 4 reserved" in texts(svg)


def test_an_empty_yard_is_drawn_as_empty():
    assert "0 logs lie here: 0 free, 0 reserved" in texts(draw_yard("North yard", [], units=FEET))


@given(low=st.floats(-500, 500), span=st.floats(0.5, 5000))
def test_an_axis_reaches_over_all_it_shows(low: float, span: float):
    steps = axis_steps(low, low + span)

    assert steps[0] <= low + 1e-6
    assert steps[-1] >= low + span - 1e-6
    assert 2 <= len(steps) <= 13
