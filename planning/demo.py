"""Loads the invented school of `fixtures/` through the apps' own actions, as its members worked."""

import json
from collections.abc import Mapping
from datetime import datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any
from uuid import UUID, uuid5

from django.conf import settings
from django.db import transaction

from cabins.cabins.actions import put_cabin
from cabins.heights.actions import measure_heights
from cabins.layouts.actions import lay_out
from crews.accounts.actions import found_crew, make_key, put_member
from crews.accounts.models import Crew, Member, Role
from inventory.charts.actions import Chart, import_chart
from inventory.core.measure import Unit
from inventory.logs.models import Log
from inventory.mills.actions import put_form, put_mill
from inventory.mills.serializers import MillIn
from inventory.yards.actions import put_rack, put_yard
from planning.walls.set_logs import set_planned_log

# Every id of the demo follows from this one and a name, so that it is the same wherever it is loaded.
NAMESPACE = UUID("6f1d0c52-8a53-4c39-9b62-0f6f0a7d4e11")

Document = dict[str, Any]


def demo_id(*names: object) -> UUID:
    """The id of what the demo calls by these names: `demo_id("yard", "Upper yard")`."""
    return uuid5(NAMESPACE, "/".join(map(str, names)))


@transaction.atomic
def load_demo(*, at: datetime) -> str | None:
    """Found the demo school with all it has; its lead's key, or None if there is a crew already."""
    if Crew.objects.exists():
        return None
    folder = settings.BASE_DIR / "fixtures"
    school = _document(folder / "school.json")
    crew, members = _found_school(school, at=at)
    lead = _lead_of(members)
    for yard in school["yards"]:
        _stock_yard(crew, lead, yard, folder, at=at)
    for file in sorted((folder / "mills").glob("*.json")):
        _know_mill(crew, _document(file), at=at)
    for number, cabin in enumerate(school["cabins"]):
        # Taken up one after the other, so that the oldest comes first in every list.
        taken_up = at + timedelta(milliseconds=number)
        _take_up_cabin(crew, lead, cabin, folder, at=taken_up)
        if cabin["built"]:
            _build(crew, members, _document(folder / cabin["built"]), at=taken_up)
    _, key = make_key(
        crew=crew,
        id=demo_id("key", lead.name),
        member=lead.id,
        name="demo",
        role=Role.LEAD,
        expires_at=None,
        at=at,
    )
    return key


def _document(path: Path) -> Document:
    read: Document = json.loads(path.read_text(encoding="utf-8"))
    return read


def _found_school(school: Document, *, at: datetime) -> tuple[Crew, Mapping[str, Member]]:
    first = next(member for member in school["members"] if member["role"] == Role.LEAD)
    name = school["crew"]["name"]
    crew, _ = found_crew(id=demo_id("crew", name), lead_name=first["name"], at=at, **school["crew"])
    for member in school["members"]:
        if member is not first:
            put_member(crew=crew, id=demo_id("member", member["name"]), expected=None, at=at, **member)
    return crew, {member.name: member for member in Member.objects.of(crew)}


def _lead_of(members: Mapping[str, Member]) -> Member:
    return next(member for member in members.values() if member.role == Role.LEAD)


def _stock_yard(crew: Crew, lead: Member, yard: Document, folder: Path, *, at: datetime) -> None:
    id = demo_id("yard", yard["name"])
    fields = {"name": yard["name"], "remarks": yard["remarks"]}
    put_yard(crew=crew, id=id, fields=fields, expected=None, at=at)
    for rack in yard["racks"]:
        rack_id = demo_id("rack", yard["name"], rack["name"])
        put_rack(crew=crew, id=rack_id, yard=id, fields=rack, expected=None, at=at)
    chart = Chart(file=(folder / yard["chart"]).read_bytes(), unit=Unit(yard["unit"]))
    # Its one doubt is a log bowed so far that it was put aside.
    import_chart(chart, crew=crew, member=lead, yard=id, confirmed=True, check_only=False, at=at)


def _know_mill(crew: Crew, kept: Document, *, at: datetime) -> None:
    id = demo_id("mill", kept["mill"]["name"])
    read = MillIn(data=kept["mill"])
    read.is_valid(raise_exception=True)
    put_mill(crew=crew, id=id, fields=read.validated_data, expected=None, at=at)
    put_form(crew=crew, mill=id, document=kept["form"], expected=None, at=at)


def _take_up_cabin(crew: Crew, lead: Member, cabin: Document, folder: Path, *, at: datetime) -> None:
    id = demo_id("cabin", cabin["name"])
    fields = {"name": cabin["name"], "remarks": cabin["remarks"]}
    put_cabin(crew=crew, id=id, fields=fields, expected=None, at=at)
    layout = _document(folder / cabin["layout"])
    lay_out(crew=crew, cabin=id, document=layout, laid_out_by=lead, expected=None, at=at)


def _build(crew: Crew, members: Mapping[str, Member], built: Document, *, at: datetime) -> None:
    cabin = demo_id("cabin", built["cabin"])
    logs = {(log.yard.name, log.number): log.id for log in Log.objects.of(crew).select_related("yard")}
    for row in built["set_logs"]:
        set_by = members[row["set_by"]]
        id = demo_id("set log", built["cabin"], row["wall"], row["round"], row["piece"])
        fields = {
            "cabin": cabin,
            **{name: row[name] for name in ("wall", "round", "piece", "butt_at", "remarks")},
            "log": logs[row["yard"], row["log"]],
            "set_at": datetime.fromisoformat(row["set_at"]),
            "set_by": set_by.id,
            "checked_by": members[row["checked_by"]].id,
            **{name: _mm(row[name]) for name in ("from_butt_mm", "gap_mm", "notch_start_mm", "notch_end_mm")},
            "metal_removed": False,
        }
        set_planned_log(crew=crew, id=id, fields=fields, recorded_by=set_by, at=at)
    lines = [_height(row, built["cabin"], members) for row in built["heights"]]
    lead = _lead_of(members)
    measure_heights(crew=crew, cabin=cabin, lines=lines, confirmed=False, recorded_by=lead, at=at)


def _height(row: Document, cabin: str, members: Mapping[str, Member]) -> Document:
    return {
        "id": demo_id("height", cabin, row["wall"], row["round"], row["end"]),
        **{name: row[name] for name in ("wall", "round", "end")},
        "height_mm": _mm(row["height_mm"]),
        "measured_at": datetime.fromisoformat(row["measured_at"]),
        "measured_by": members[row["measured_by"]].id,
        "remarks": "",
    }


def _mm(value: int | None) -> Decimal | None:
    return None if value is None else Decimal(value)
