"""The layout editor: a rectangle with a door drawn while it is typed, and kept; faults at their fields."""

import re
from uuid import uuid4

import pytest
from playwright.sync_api import expect

from tests.browser.building import a_yard
from tests.browser.looking import cut_off, findings
from tests.browser.screen import Screen, Size

TYPED = {
    "along": "5000", "across": "4000", "wall_height_mm": "1200", "log_middle_mm": "300", "overhang_mm": "400",
    "gap-smallest": "5", "gap-target": "12", "gap-largest": "25",
}  # fmt: skip
DOOR = {"offset_mm": "2000", "width_mm": "900", "sill_mm": "100", "head_mm": "900"}


@pytest.fixture
def lead(live):
    return live.crew()


def lay_out(screen, size: Size, lead) -> tuple[Screen, str]:
    """The editor of a new cabin, its fields filled in; the cabin's id."""
    cabin = str(uuid4())
    lead.put(f"cabins/{cabin}", {"name": "Pond hut"})
    one = screen(size, lead)
    one.go(f"/cabins/{cabin}/layout")
    for field, typed in TYPED.items():
        one.page.locator(f"#{field}").fill(typed)
    return one, cabin


def fill_door(one: Screen, **changed: str) -> None:
    for name, typed in (DOOR | changed).items():
        one.page.locator(f"[name^={name}-]").fill(typed)


def test_a_rectangle_with_a_door_is_drawn_while_typed_and_kept(screen, size, lead):
    one, cabin = lay_out(screen, size, lead)
    expect(one.page.locator("#facts")).to_contain_text("Rounds")
    one.press("Add a door or window")
    fill_door(one)
    one.page.locator("#ridge").select_option("along")
    one.page.locator("#slope").fill("6:12")

    expect(one.page.locator("#drawn svg").first).to_be_visible()
    expect(one.page.locator("#facts")).to_contain_text("wall B: 4, to cut")
    one.settle()
    assert lead.get(f"cabins/{cabin}")["rounds"] is None, "trying stores nothing"
    faults = [*findings(one.page), *cut_off(one.page, width=320)]
    assert not faults, "\n".join(faults)
    one.press("Save layout")

    expect(one.page).to_have_url(f"{one.root}/cabins/{cabin}")
    layout = lead.get(f"cabins/{cabin}/layout")["layout"]
    assert {(corner["x_mm"], corner["y_mm"]) for corner in layout["corners"]} == {
        (0, 0), (5000, 0), (5000, 4000), (0, 4000)
    }  # fmt: skip
    assert (layout["roof_line"]["slope"], layout["roof_line"]["ridge"]) == (0.5, "along")
    expect(one.page.locator("#gables")).to_contain_text("local code and licensed practice")
    expect(one.page.locator("#gables tbody tr")).to_have_count(6)
    faults = [*findings(one.page), *cut_off(one.page, width=320)]
    assert not faults, "\n".join(faults)
    [opening] = layout["openings"]
    assert {name: opening[name] for name in DOOR} == {name: int(typed) for name, typed in DOOR.items()}


def test_sills_and_heads_fall_on_courses_of_the_ticked_yards_logs(screen, lead):
    a_yard(lead)
    one, _ = lay_out(screen, Size.PHONE, lead)
    one.press("Add a door or window")
    fill_door(one)
    help_told = one.page.locator(".opening .help")
    higher = help_told.locator("button").first
    expect(higher).to_have_text(re.compile("mm (higher|lower), at "))
    of_the_yard = help_told.inner_text()
    assert findings(one.page) == []

    one.page.get_by_label("North yard").uncheck()

    # Every log of the yard is thicker than the usual middle diameter, so the courses lie higher.
    expect(help_told).not_to_have_text(of_the_yard, use_inner_text=True)
    expect(higher).to_be_visible()
    line = "sill_mm" if ": sill " in higher.inner_text() else "head_mm"
    higher.click()
    expect(one.page.locator(f"[name^={line}-]")).not_to_have_value(DOOR[line])


def test_a_door_beyond_its_wall_is_said_at_its_field_and_not_kept(screen, lead):
    one, cabin = lay_out(screen, Size.PHONE, lead)
    one.press("Add a door or window")

    fill_door(one, offset_mm="4800")

    expect(one.page.locator("#layout .fault:visible").first).not_to_be_empty()
    assert findings(one.page) == []
    one.press("Save layout")
    one.settle()
    assert lead.get(f"cabins/{cabin}")["rounds"] is None
