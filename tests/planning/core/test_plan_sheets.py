"""Sheets of a plan, set as PDF and read back."""

import io
from dataclasses import asdict
from decimal import Decimal
from typing import Any

import pytest
from pypdf import PdfReader

from cabins.core.corner_sheet import return_advice
from cabins.core.half_logs import RipLine
from cabins.core.layout import read_layout
from cabins.core.stack import stack_up
from inventory.core.crew_units import CrewUnits
from inventory.core.measure import Unit
from inventory.core.printed.press import Paper
from planning.core.lying_words import lying_lines
from planning.core.printed.cut_list import cut_list_data, print_cut_list
from planning.core.printed.setting import print_setting_sheet
from planning.core.printed.storey_pole import print_storey_pole
from planning.core.sheets import METAL_CAUTION
from tests.cabins.core.drawings import a_rectangle

MM = CrewUnits(unit=Unit.MM)
FEET = CrewUnits(unit=Unit.FT_IN)
AS_OF = "as of 2026-05-04 07:30 UTC"


def pages(pdf: bytes) -> list[str]:
    reader = PdfReader(io.BytesIO(pdf))
    return [" ".join(page.extract_text().replace("\u200b", "").split()) for page in reader.pages]


def a_corner(**changes: Any) -> dict[str, Any]:
    return {
        "crossing": "SW", "from_butt_mm": 405.0, "diameter_mm": 329.0, "notch_mm": 142.4,
        "notch_share": 0.433, "notch_state": "good", "gap_mm": 14.6, "top_mm": 2341.8, "top_error_mm": 10.9,
    } | changes  # fmt: skip


def a_lying(**changes: Any) -> dict[str, Any]:
    gap = {"smallest_mm": 10.0, "smallest_at_mm": 0.0, "largest_mm": 31.0, "largest_at_mm": 2350.0}
    return {"crown_laid": "up", "gap_along": gap, "scribing": None} | changes


def a_row(**changes: Any) -> dict[str, Any]:
    lift = {
        "weight_low_kg": 146.0, "weight_kg": 218.0, "weight_high_kg": 295.4,
        "why_no_weight": "", "hangs": "whole", "seasoning": "partly_dry",
        "balance_from_butt_mm": 1944.0, "balance_low_mm": 1872.0, "balance_high_mm": 2015.0,
    }  # fmt: skip
    return {
        "order": 1, "wall": "A", "round": 3, "piece": 0, "log_number": "L17", "yard_name": "North yard",
        "rack_name": None, "butt_at": "end", "cut_near_butt_mm": 25.0, "cut_near_tip_mm": 3985.0,
        "length_mm": 3960.0, "gap_mm": 15.0, "crown_mm": 69.85, "crown_side": "top",
        "corners": [a_corner(), a_corner(crossing="SE")], "hazards": [],
        "advice": [], "position": None, "opening_cuts": [], "at_jambs": [],
        "cautions": [], "lift": lift, "rip": None, "lying": a_lying(),
    } | changes  # fmt: skip


def setting(rows: list[dict[str, Any]], units: CrewUnits = MM) -> list[str]:
    sheet = {
        "cabin_name": "Pond hut", "round": 3, "already_set": 1, "rows": rows, "lost": [],
        "cautions": ["Plan every lift."],
    }  # fmt: skip
    return pages(
        print_setting_sheet(sheet, ends={"A": ("SW", "SE")}, units=units, as_of=AS_OF, paper=Paper.A4)
    )


def test_a_log_of_unknown_weight_says_so_on_paper():
    weights = dict.fromkeys(("weight_low_kg", "weight_kg", "weight_high_kg"))
    unknown = a_row()["lift"] | weights | {"why_no_weight": "The log has no species."}

    printed = setting([a_row(lift=unknown)])[0]

    assert "not known" in printed
    assert "The log has no species." in printed


def test_a_setting_sheet_tells_all_that_is_needed_at_the_wall():
    stays = "At SW the wall stays 7 mm too high: make it good in the next round."

    (words,) = setting([a_row(advice=[stays])])

    for told in (
        "Pond hut: setting sheet, round 3", "1 log to set in this order, 1 set already", "L17", "North yard",
        "wall A", "Butt towards SE (end of wall A)", "25 mm and 3985 mm", "3960 mm", "15 mm",
        "1944 mm", "1872 mm to 2015 mm", "295 kg", "146 kg to 295 kg", "the uncut log, partly dry",
        "142 mm (43%)", "15 mm", "2342 mm", "± 11 mm", "70 mm, up", "set by", "checked by",
        "top as built", "notch as cut", stays,
        "Plan every lift.",
    ):  # fmt: skip
        assert told in words, told


def test_a_crown_and_the_gap_along_the_wall_stand_with_the_log():
    (words,) = setting([a_row()])

    assert "Lay the crown up: the side charted as top comes on top" in words
    assert "Gap along the wall 10 mm to 31 mm, widest 2350 mm from the wall's start" in words


def gap_of(smallest_mm: float, largest_mm: float) -> dict[str, Any]:
    return a_lying()["gap_along"] | {"smallest_mm": smallest_mm, "largest_mm": largest_mm}


@pytest.mark.parametrize(
    ("row", "line"),
    [
        (a_row(crown_side="left"), "Lay the crown up: the side charted as left comes on top"),
        (
            a_row(crown_side=None),
            "Lay the crown up: which side it bows to is not charted, so sight along the log",
        ),
        (
            a_row(crown_mm=0.0, lying=a_lying(gap_along=gap_of(-38.1, -12.7))),
            """Overlap along the wall 1/2" to 1 1/2", least 7' 8 1/2" from the wall's start""",
        ),
        (
            a_row(crown_mm=None, lying=a_lying(gap_along=gap_of(-6.35, 12.7))),
            """Along the wall 1/4" of overlap to 1/2" of gap, widest 7' 8 1/2" from the wall's start""",
        ),
    ],
    ids=["side charted", "side not charted", "scribed", "both"],
)
def test_how_a_log_lies_is_told_in_a_builders_words(row: dict[str, Any], line: str):
    assert lying_lines(row, FEET)[0] == line


def test_a_half_log_is_told_no_crown_to_lay_up():
    half = a_row(rip={"kerf_mm": 5.0}, lying=a_lying(gap_along=None))

    assert lying_lines(half, FEET) == []


def test_a_scribed_log_has_its_settings_and_the_width_of_its_groove_on_paper():
    rests = [{"top_mm": 690.0, "rough_cut_mm": 79.2}, {"top_mm": 701.0, "rough_cut_mm": 90.0}]
    first = {"rests": rests, "widest_mm": 130.0, "groove_setting_mm": 160.0}
    final = {"rests": rests, "widest_mm": 50.8, "groove_setting_mm": 90.8}
    groove = {"width_mm": 107.7, "share": 0.36}
    scribing = {"first": first, "final": final, "grooves": [groove] * 3}

    (words,) = setting([a_row(lying=a_lying(scribing=scribing))])

    assert "Un-notched its top rests at 690 mm and 701 mm; widest gap 130 mm, scribers 160 mm" in words
    assert "Rough notches 79 mm and 90 mm; then the final scribe 91 mm, widest gap 51 mm" in words
    assert "108 mm (36%), 108 mm (36%), 108 mm (36%)" in words


def test_the_first_log_lies_on_the_deck_and_a_deep_notch_is_called_out():
    corners = [
        a_corner(notch_mm=None, notch_share=None, notch_state=None),
        a_corner(crossing="SE", notch_mm=250.0, notch_share=0.76, notch_state="beyond"),
    ]

    (words,) = setting([a_row(corners=corners, cautions=["Ask a licensed practitioner."])])

    assert "on the deck" in words
    assert "250 mm (76%) beyond limit" in words
    assert "Ask a licensed practitioner." in words


def test_dangers_stand_in_the_block_of_their_log():
    hazards = [
        {"kind": "metal", "from_butt_mm": 2070.0, "extent_mm": 150.0},
        {"kind": "knot", "from_butt_mm": 900.0, "extent_mm": 0.0},
    ]

    (words,) = setting([a_row(hazards=hazards, cautions=[METAL_CAUTION])])

    assert "METAL AT 2070 MM FROM THE BUTT END, 150 MM LONG" in words
    assert "knot at 900 mm from the butt end" in words
    assert METAL_CAUTION in words


def test_a_piece_between_corner_and_opening_is_named():
    (words,) = setting([a_row(piece=1, position="right of W1", corners=[a_corner(crossing="SE")])])

    assert "wall A, right of W1" in words


def test_a_crew_that_reads_inches_gets_feet_and_pounds():
    (words,) = setting([a_row()], units=FEET)

    assert "0' 1\" and 13' 0 7/8\"" in words
    assert "651 lb" in words
    assert '2 3/4", up' in words
    assert '± 7/16"' in words
    assert " mm" not in words


def test_no_block_of_a_log_is_torn_apart_by_a_page():
    found = setting([a_row(order=n, log_number=f"L{n}") for n in range(1, 9)])

    assert len(found) == 3
    for words in found:
        assert words.count("Butt towards") == words.count("checked by")


def test_a_round_that_is_set_says_so():
    assert "Every log of this round is set." in setting([])[0]


def a_piece(number: str, **changes: Any) -> dict[str, Any]:
    return {
        "log": f"id-{number}", "log_number": number, "yard_name": "North yard", "rack_name": "Rack 1",
        "length_mm": Decimal(6000), "crown_mm": Decimal(30), "crown_side": "left",
        "from_butt_mm": Decimal(60), "start_mm": Decimal(-400),
        "end_mm": Decimal(2000), "wall": "A", "round": 2, "piece": 0, "butt_at": "start", "hazards": [],
    } | changes  # fmt: skip


def test_a_cut_list_goes_log_by_log_from_the_butt_on():
    rows = [
        a_piece("A10"),
        a_piece("A2", from_butt_mm=Decimal(2600), piece=1, end_mm=Decimal(1500)),
        a_piece("A2"),
    ]

    data = cut_list_data("Pond hut", rows, units=MM, as_of=AS_OF)

    assert [log["number"] for log in data["logs"]] == ["A2", "A10"]
    assert [(one["near"], one["far"]) for one in data["logs"][0]["pieces"]] == [
        ("60 mm", "2460 mm"),
        ("2600 mm", "4500 mm"),
    ]


def test_half_logs_are_told_with_the_rip_and_the_height_to_leave():
    rip = RipLine(kerf_mm=4, leave_near_butt_mm=163.2, leave_near_tip_mm=151)
    at_wall = a_row(round=0, gap_mm=0.0, rip=asdict(rip))
    to_saw = a_piece("A2", round=0, wall="B", rip=rip)

    (sheet,) = setting([at_wall])
    (cuts,) = pages(print_cut_list("Pond hut", [to_saw], units=MM, as_of=AS_OF, paper=Paper.A4))

    assert "leave 163 mm at the butt cut and 151 mm at the tip cut (saw cut 4 mm)" in sheet
    assert "none: flat side down" in sheet
    assert "wall B, half log, round 0" in cuts
    assert "leave 163 mm at the near cut, 151 mm at the far one" in cuts


def test_a_cut_list_is_printed_with_the_metal_in_its_logs():
    metal = [{"kind": "metal", "from_butt_mm": 700, "extent_mm": None}]

    (words,) = pages(
        print_cut_list("Pond hut", [a_piece("A2", hazards=metal)], units=MM, as_of=AS_OF, paper=Paper.LETTER)
    )

    assert "Pond hut: cut list" in words
    assert "1 log, 1 piece" in words
    assert "wall A, round 2; butt at the wall's start" in words
    assert "METAL AT 700 MM" in words
    assert "log of 6000 mm, crown 30 mm, left" in words
    assert METAL_CAUTION in words


def test_a_wall_off_its_plan_says_at_its_corner_and_on_the_pole_what_brings_it_back():
    layout = read_layout(a_rectangle())
    plain = stack_up(layout, diameters_mm={})
    gap = layout.gap
    high = plain.heights_mm["A", 1, 0] + 2.5 * (gap.target_mm - gap.smallest_mm)
    stack = stack_up(layout, diameters_mm={}, planned_mm=plain.heights_mm, measured_mm={("A", 1, 0): high})
    (left,) = [top.stands_off_mm for top in stack.tops if (top.wall, top.round, top.column) == ("A", 2, 0)]
    stays = f"Wall A, round 2: At SW the wall stays {MM.across(left)} too high: make it good over the next 2"

    here = return_advice(stack, crossing="SW", units=MM)
    printed = " ".join(pages(print_storey_pole("Hut", stack, (), units=MM, as_of=AS_OF, paper=Paper.A4)))

    assert left == pytest.approx(1.5 * (gap.target_mm - gap.smallest_mm))
    assert here[0].startswith(stays)
    assert len(here) == 1, "the other wall is on its plan"
    assert stays in printed
    assert return_advice(stack, crossing="NE", units=MM) == ()
    assert return_advice(plain, crossing="SW", units=MM) == (), "without a plan there is nothing to return to"


def test_storey_pole_marks_are_the_tops_of_the_stack():
    layout = read_layout(a_rectangle())
    stack = stack_up(layout, diameters_mm={("A", 1, 0): 341.0}, measured_mm={("A", 2, 0): 725.0})

    found = pages(print_storey_pole("Pond hut", stack, (), units=MM, as_of=AS_OF, paper=Paper.A4))

    words = " ".join(found)
    assert all(f"{corner} wall" in words for corner in ("SW", "SE", "NE", "NW"))
    assert "725 mm measured" in words
    for number in (1, 3, layout.round_count):
        assert f"{stack.heights_mm['A', number, 0]:.0f} mm ±" in words
    assert stack.heights_mm["A", 1, 0] == pytest.approx(354.0)


def test_setting_sheet_and_cut_list_say_what_a_header_is_cut_for_a_window():
    words = "window W1, header: cut the underside 40 mm deep from 1000 mm to 1900 mm along wall A."
    cut = {"words": words}

    (page,) = setting([a_row(position="left of W1", opening_cuts=[cut], at_jambs=["Ends at the near jamb."])])
    row = a_piece("A2") | {"position": "left of W1", "opening_cuts": [cut]}
    (listed,) = pages(print_cut_list("Pond hut", [row], units=MM, as_of=AS_OF, paper=Paper.LETTER))

    assert "wall A, left of W1" in page
    assert words in page
    assert "Ends at the near jamb." in page
    assert words in listed
    assert "round 2, left of W1" in listed
