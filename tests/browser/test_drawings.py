"""Drawings measured in the browser: what is drawn is what the plan gives, to a millimetre of the building."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page

from tests.browser.building import Site, a_site, set_next
from tests.browser.measuring import Mark, marks, px_per_mm
from tests.browser.screen import Size
from tests.live import Live

LENGTH_MM, WIDTH_MM, OVERHANG_MM = 5000, 4000, 400
DRAWINGS = ("elevation?wall=A", "corner-drawing?corner=1", "floor-plan", "levels-drawing", "settling-drawing")


@pytest.fixture(scope="module")
def site(live: Live) -> Site:
    """A hut with an adopted plan, one log of which is set."""
    site = a_site(live.crew())
    set_next(site.lead, site.cabin)
    return site


@pytest.fixture
def drawing(screen, site: Site) -> Callable[[str], Page]:
    def open_drawing(name: str) -> Page:
        one = screen(Size.DESK, site.lead, service_workers="block")
        one.page.goto(f"/api/v1/cabins/{site.cabin}/{name}")
        return one.page

    return open_drawing


def planned_tops(site: Site) -> dict[tuple[str, int, int], dict[str, float]]:
    """(wall, column, round): what the plan says of a log's top there."""
    tops = site.lead.get(f"plans/{site.plan}/heights?cabin={site.cabin}")["tops"]
    return {(top["wall"], top["column"], top["round"]): top for top in tops if top["round"]}


def deck_of(some: list[Mark]) -> float:
    """Where the deck lies: the first line of a view is the ground."""
    return next(one for one in some if one.kind == "line").top


@pytest.mark.parametrize("wall", "ABCD")
def test_a_logs_drawn_height_at_a_corner_is_the_plans(drawing, site, wall):
    page = drawing(f"elevation?wall={wall}")
    found, scale = marks(page), px_per_mm(page)
    columns = sorted(one.left for one in found if one.kind == "line" and one.dash and one.left == one.right)
    apart_mm = LENGTH_MM if wall in "AC" else WIDTH_MM

    assert (columns[-1] - columns[0]) / scale == pytest.approx(apart_mm, abs=1)
    told = planned_tops(site)
    logs = [one for one in found if "log" in one.data and one.kind == "polygon"]
    measured = 0
    for column, x in ((0, columns[0]), (1, columns[-1])):
        for log in (one for one in logs if one.left <= x <= one.right):
            height = (deck_of(found) - log.top_at(x)) / scale
            round_number = int(log.data["round"])
            assert height == pytest.approx(told[wall, column, round_number]["top_mm"], abs=1)
            measured += 1
    assert measured == 6, "three rounds at two corners"


def test_a_corner_stacks_up_as_the_plan_says(drawing, site):
    page = drawing("corner-drawing?corner=1")
    found, scale = marks(page), px_per_mm(page)
    told = planned_tops(site)
    ends = [one for one in found if one.kind == "circle" and "wall" in one.data and "round" in one.data]

    assert len(ends) == 6, "three logs of each wall"
    for end in ends:
        wall, deck = end.data["wall"], deck_of([one for one in found if one.view == end.view])
        top = told[wall, 0 if wall == "A" else 1, int(end.data["round"])]
        assert (deck - end.top) / scale == pytest.approx(top["top_mm"], abs=1)
        assert (end.bottom - end.top) / scale == pytest.approx(top["diameter_mm"], abs=1)


def test_notches_at_a_corner_are_as_deep_as_on_the_sheet(drawing, site):
    page = drawing("corner-drawing?corner=1")
    found, scale = marks(page), px_per_mm(page)
    rows = [
        row
        for number in (1, 2, 3)
        for row in site.lead.get(f"plans/{site.plan}/setting-sheet?cabin={site.cabin}&round={number}")["rows"]
    ]
    told = {
        f"{row['wall']}-{row['round']}": corner["notch_mm"]
        for row in rows
        for corner in row["corners"]
        if corner["crossing"] == "1" and corner["notch_mm"]
    }

    drawn = {
        one.data["notch"]: (one.bottom - one.top) / scale
        for one in found
        if one.kind == "line" and "notch" in one.data
    }

    assert len(told) >= 4
    assert {name: drawn[name] for name in told} == pytest.approx(told, abs=1)


def test_the_floor_is_as_large_as_it_is_laid_out(drawing):
    page = drawing("floor-plan")
    found, scale = marks(page), px_per_mm(page)
    walls = {one.data["wall"]: one for one in found if one.kind == "polygon" and "wall" in one.data}

    def across(one: Mark) -> float:
        return (one.left + one.right) / 2

    def along(one: Mark) -> float:
        return (one.top + one.bottom) / 2

    assert (across(walls["B"]) - across(walls["D"])) / scale == pytest.approx(LENGTH_MM, abs=1)
    assert (along(walls["A"]) - along(walls["C"])) / scale == pytest.approx(WIDTH_MM, abs=1)
    assert (walls["A"].right - walls["A"].left) / scale == pytest.approx(LENGTH_MM + 2 * OVERHANG_MM, abs=1)
    assert (walls["D"].bottom - walls["D"].top) / scale == pytest.approx(WIDTH_MM + 2 * OVERHANG_MM, abs=1)


@pytest.mark.parametrize("name", DRAWINGS)
def test_a_drawing_says_what_it_is_in_words(drawing, name):
    page = drawing(name)

    svg = page.locator("svg")
    for part in (svg.get_attribute("aria-labelledby") or "").split():
        assert len(page.evaluate("(id) => document.getElementById(id).textContent", part)) >= 12
    assert svg.get_attribute("role") == "img"
    assert page.locator("svg > title, svg > desc").count() == 2
    assert page.locator("svg text").count() > 5
    assert page.locator("svg image, svg foreignObject, svg script").count() == 0


def test_set_and_reserved_are_told_apart_without_colours(drawing):
    page = drawing("elevation?wall=A")
    fills = {
        one.data["filling"]: one.fill
        for one in marks(page)
        if "filling" in one.data and one.kind == "polygon"
    }

    hatched = {
        state: page.locator(f"pattern{fill[4:-1]} line").count() > 0
        if (fill or "").startswith("url(")
        else False
        for state, fill in fills.items()
    }

    assert hatched == {"set": False, "reserved": True}
    legend = page.locator("svg").text_content() or ""
    assert "reserved" in legend
    assert "set" in legend
