"""Doors and windows that fit, the whole way over HTTP: laid out, planned, set, and told alike everywhere."""

import io
import xml.etree.ElementTree as ET
from typing import Any
from uuid import uuid4

import pytest
from django.utils.timezone import now
from pypdf import PdfReader

from cabins.layouts.models import Place
from inventory.yards.models import Yard
from planning.plans.models import PlannedPiece
from planning.plans.staleness import tell_of_stale_plans
from tests.cabins.building import a_layout
from tests.following import until_the_feed_shows_all
from tests.planning.planning_yard import logs_enough, planned
from tests.planning.test_at_the_wall import EVENING, set_piece

pytestmark = pytest.mark.django_db(transaction=True)

# Even logs of 300 with gaps of 12: a window whose sill falls into the middle of round 2 of wall A.
WINDOW = {
    "id": "W1", "kind": "window", "wall": "A",
    "offset_mm": 2000, "width_mm": 900, "sill_mm": 500, "head_mm": 1100,
}  # fmt: skip


def laid_out(someone: Any, window: dict[str, Any]) -> str:
    address = f"cabins/{uuid4()}"
    assert someone.put(address, {"name": "Pond hut"}).status_code == 201
    answer = someone.put(f"{address}/layout", a_layout(rounds=5, openings=[window]))
    assert answer.status_code == 201, answer.body
    return address


def text_of(someone: Any, address: str) -> str:
    answer = someone.get(address)
    assert answer.status_code == 200, answer.body
    pages = PdfReader(io.BytesIO(answer.body)).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    return text.replace("\u200b", "").replace("\u00a0", " ")


def courses_of(cabin: str) -> dict[tuple[str, int], list[tuple[float, float]]]:
    found: dict[tuple[str, int], list[tuple[float, float]]] = {}
    for place in Place.objects.filter(cabin=cabin).order_by("wall", "round", "piece"):
        spans = found.setdefault((place.wall, place.round), [])
        spans.append((float(place.start_mm), float(place.end_mm)))
    return found


def cuts_on_sheet(someone: Any, cabin: str, number: int) -> dict[str, str]:
    """The words of every sill and header cut on a round's setting sheet, by side."""
    rows = someone.get(f"{cabin}/setting-sheet?round={number}").body["rows"]
    return {cut["side"]: cut["words"] for row in rows for cut in row["opening_cuts"]}


def test_the_help_names_heights_and_pieces_by_where_they_lie(builder):
    cabin = laid_out(builder, WINDOW)

    told = builder.post(f"{cabin}/layout/check", a_layout(rounds=5, openings=[WINDOW])).body

    (window,) = told["openings"]
    assert window["hole_asked_mm"] == pytest.approx(600 + window["space_mm"])
    assert window["sill"]["depth_near_mm"] > 0 or window["sill"]["infill_near_mm"] > 0
    better = [one for one in window["other_heights"] if one["line"] == "sill"]
    assert better and all("no cut at all" in one["words"] for one in better)
    positions = {place["position"] for place in told["places"] if place["wall"] == "A"}
    assert positions == {None, "left of W1", "right of W1"}
    assert all(stub["is_free"] for stub in told["stubs"])


def test_an_opening_that_cannot_be_is_refused_by_name_in_the_crews_units(builder):
    crew = builder.who.crew
    crew.length_unit = "ft_in"
    crew.save(update_fields=["length_unit"])
    cabin = laid_out(builder, WINDOW)
    wide = WINDOW | {"width_mm": 5200}

    answer = builder.put(f"{cabin}/layout", a_layout(rounds=5, openings=[wide]), version=1)

    (error,) = answer.body["errors"]
    assert error["pointer"] == "/openings/0/width_mm"
    assert "W1 is 17' 0 3/4\" wide" in error["detail"]
    assert "narrower" in error["detail"]


def test_from_a_window_that_falls_badly_to_a_wall_that_tells_one_cut_everywhere(lead, learner):
    cabin = laid_out(lead, WINDOW)
    yard = str(logs_enough(lead, 26)[0].yard_id)
    body = a_layout(rounds=5, openings=[WINDOW])
    check = lead.post(f"{cabin}/layout/check?yard={yard}", body).body
    better = next(one for one in check["openings"][0]["other_heights"] if one["line"] == "sill")
    window = WINDOW | {"sill_mm": better["height_mm"]}
    assert lead.put(f"{cabin}/layout", a_layout(rounds=5, openings=[window]), version=1).status_code == 200
    plan = planned(lead, [cabin.split("/")[1]], [Yard.objects.get(id=yard).id])["plan_id"]

    assert lead.post(f"plans/{plan}/adopt").status_code == 200

    id = cabin.split("/")[1]
    stretches = PlannedPiece.objects.filter(plan=plan, wall__isnull=False)
    planned_places = {(p.wall, p.round, p.piece, p.start_mm, p.end_mm) for p in stretches}
    places = {(p.wall, p.round, p.piece, p.start_mm, p.end_mm) for p in Place.objects.filter(cabin=id)}
    assert planned_places == places
    (sheet,) = lead.get(f"{cabin}/openings").body["openings"]
    fits_or_is_told(sheet)
    for number in range(1, sheet["header"]["round"]):
        set_round(lead, cabin, plan, number)
    (after,) = learner.get(f"{cabin}/openings").body["openings"]
    fits_or_is_told(after)
    header, number = after["header"], after["header"]["round"]
    told = {"header": header["words"]}
    assert worth(header), "a header that falls to the millimetre would show nothing on any address"
    assert cuts_on_sheet(learner, cabin, number) == told
    upcoming = learner.get(f"{cabin}/next-log").body["row"]
    assert (upcoming["wall"], upcoming["round"], upcoming["log"]) == ("A", number, header["log"])
    assert {cut["side"]: cut["words"] for cut in upcoming["opening_cuts"]} == told
    assert header["words"] in text_of(learner, f"{cabin}/sheets/setting?round={number}")
    assert header["words"] in text_of(learner, f"{cabin}/sheets/cut-list")
    pole = text_of(learner, f"{cabin}/sheets/storey-pole")
    assert after["header"]["words"] in pole and after["sill"]["words"] in pole
    paper = text_of(learner, f"{cabin}/sheets/opening?opening=W1&paper=letter")
    assert after["header"]["words"] in paper and after["hole_asked_text"] in paper
    drawn = ET.fromstring(learner.get(f"{cabin}/opening-drawing?opening=W1").body)
    assert any(one.get("data-hole") == "W1" for one in drawn.iter())
    assert learner.get(f"{cabin}/opening-drawing?opening=W9").status_code == 404

    # Half a log lower than planned: the hole now takes most of the header, which is to be planned again.
    set_courses = courses_of(id)
    for one in lead.get(f"heights?cabin={id}&round={number - 1}").body["items"]:
        lead.post(f"heights/{one['id']}/undo", {"reason": "Read from the wrong mark."})
    measure_tops(lead, cabin, plan, number - 1, off_mm=-150)
    assert tell_of_stale_plans(at=now()) == 1
    until_the_feed_shows_all()
    (news,) = [one["data"] for one in lead.get("events?kind=plan_stale").body["items"]]
    assert any(one.startswith("By the heights that stand, openings cut round") for one in news["because"])
    assert courses_of(id) == set_courses, "nothing is cut anew before it is planned again"


def worth(cut: dict[str, Any]) -> bool:
    names = ("depth_near_mm", "depth_far_mm", "infill_near_mm", "infill_far_mm")
    return max(cut[name] for name in names) > 1


def fits_or_is_told(sheet: dict[str, Any]) -> None:
    """The hole is as asked within 10 mm, or the sheet names the infill that makes it so."""
    for jamb in ("near", "far"):
        infill = sum(sheet[side][f"infill_{jamb}_mm"] for side in ("sill", "header") if sheet[side])
        assert sheet[f"hole_{jamb}_mm"] - sheet["hole_asked_mm"] == pytest.approx(infill, abs=0.02)
    assert all(sheet[side]["share"] <= 0.55 for side in ("sill", "header") if sheet[side])


def set_round(someone: Any, cabin: str, plan: str, number: int) -> None:
    """Set a round as planned, its tops measured 5 to 20 mm off what the sheet says."""
    pieces = someone.get(f"plans/{plan}/pieces?round={number}").body["items"]
    for piece in pieces:
        answer = set_piece(someone, piece)
        assert answer.status_code == 201, answer.body
    measure_tops(someone, cabin, plan, number)


def measure_tops(someone: Any, cabin: str, plan: str, number: int, *, off_mm: float | None = None) -> None:
    """Measure a round's tops so far off the plan's, or each by another 5 to 20 mm."""
    id = cabin.split("/")[1]
    tops = someone.get(f"plans/{plan}/heights?cabin={id}").body["tops"]
    for n, top in enumerate(t for t in tops if t["round"] == number):
        off = (5 + 5 * (n % 4)) * (1 if n % 2 else -1) if off_mm is None else off_mm
        height = {
            "cabin": id,
            "wall": top["wall"],
            "round": number,
            "end": "start" if top["column"] == 0 else "end",
            "height_mm": round(top["top_mm"] + off),
            "measured_at": EVENING,
            "confirm_doubtful": True,
        }
        answer = someone.put(f"heights/{uuid4()}", height)
        assert answer.status_code == 201, answer.body
