"""A cabin's record, set as PDF and read back."""

import io
from datetime import UTC, datetime
from typing import Any

from pypdf import PdfReader

from cabins.core.drawings.floor_plan import draw_floor_plan
from cabins.core.layout import read_layout
from cabins.core.printed.record import CabinRecord, print_record
from inventory.core.crew_units import CrewUnits
from inventory.core.measure import Unit
from inventory.core.printed.press import Paper
from tests.cabins.core.drawings import a_rectangle

MM = CrewUnits(unit=Unit.MM)
NOON = datetime(2026, 5, 4, 12, tzinfo=UTC)


def pages(pdf: bytes) -> list[str]:
    reader = PdfReader(io.BytesIO(pdf))
    return [" ".join(page.extract_text().replace("\u200b", "").split()) for page in reader.pages]


def a_log(**changes: Any) -> dict[str, Any]:
    return {
        "wall": "A", "round": 1, "piece": 0, "number": "L17", "butt_at": "start", "set_at": NOON,
        "set_by_name": "Runa", "checked_by_name": None, "gap_mm": None, "notch_start_mm": None,
        "notch_end_mm": None, "hazards": [], "remarks": "",
    } | changes  # fmt: skip


def a_member(**changes: Any) -> dict[str, Any]:
    return {
        "allowance": {"leave_mm": 102.0},
        "prediction": {"low_mm": 21.0, "high_mm": 141.0, "cautions": ["A prediction."]},
        "cautions": ["Leave the larger space."],
    } | changes


def a_record(**changes: Any) -> CabinRecord:
    plan = draw_floor_plan("Pond hut", read_layout(a_rectangle()), units=MM)
    usual: dict[str, Any] = {
        "cabin": "Pond hut", "crew": "Alder Bend crew", "remarks": "", "floor_plan": plan,
        "wholes": (plan,) * 4,
        "elevations": (plan,),
        "progress": {
            "rounds": 8, "rounds_complete": 1, "logs_set": 4, "places": 40, "height_mm": 366.0,
            "wall_height_mm": 2900.0, "last_set_at": NOON,
        },
        "logs": [a_log()],
        "heights": [
            {
                "wall": "A", "round": 1, "end": "end", "height_mm": 341.0, "measured_at": NOON,
                "measured_by_name": "Jorrit", "times_read": 1,
            }
        ],
        "settling": None, "why_no_settling": "Say of which species the logs are.",
    }  # fmt: skip
    return CabinRecord(**{**usual, **changes})


def printed(record: CabinRecord) -> list[str]:
    return pages(print_record(record, units=MM, as_of="as of today", paper=Paper.LETTER))


def test_a_record_tells_who_built_what():
    found = printed(a_record())

    words = " ".join(found)
    assert len(found) == 5  # with the four sides
    for told in (
        "Pond hut: record", "built by Alder Bend crew", "1 of 8", "4 of 40", "366 mm", "2026-05-04", "L17",
        "Runa", "341 mm", "Jorrit", "Not reckoned: Say of which species the logs are.",
    ):  # fmt: skip
        assert told in words, told
    assert "floor plan" in found[1]


def test_a_record_of_a_cabin_begun_without_logs_is_printed_too():
    progress = {**a_record().progress, "last_set_at": None}

    words = " ".join(printed(a_record(progress=progress, logs=[], heights=[])))

    assert "last log set on" not in words


def test_cuts_as_measured_and_metal_are_handed_on():
    metal = {"kind": "metal", "from_butt_mm": 2850.0}
    log = a_log(
        gap_mm=14, notch_start_mm=155, checked_by_name="Maren", hazards=[metal], remarks="rolled twice"
    )

    words = " ".join(printed(a_record(logs=[log])))

    assert "14 mm 155 mm, -" in words
    assert "Maren" in words
    assert "metal 2850 mm from the butt; rolled twice" in words
    assert "Metal was charted in logs of this cabin: L17." in words


def test_settling_names_rule_and_range_apart():
    settling = {
        "species": [{"name": "spruce"}], "moisture_now_pct": 19.0, "moisture_expected_pct": 12.0,
        "rule": {"id": "mp579", "source": "a published rule"},
        "openings": [{"opening": "door", "wall": "A", "beside_mm": 2075.0, **a_member()}],
        "posts": [{"post": "post 1", "height_mm": 2400.0, **a_member()}],
    }  # fmt: skip

    words = " ".join(printed(a_record(settling=settling)))
    green = " ".join(printed(a_record(settling={**settling, "moisture_now_pct": None})))

    assert "spruce, from 19 % moisture to 12 %." in words
    assert "rule mp579 (a published rule)" in words
    assert "door A 2075 mm 102 mm 21 mm to 141 mm" in words
    assert "post 1 2400 mm" in words
    assert words.count("Leave the larger space.") == 1
    assert "from green to 12 %" in green
