"""Why a log cannot lie where it is pinned: it is too short there, or another lies there already."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import F

from cabins.cabins.models import Cabin
from cabins.choices.queries import cut_limits
from cabins.core.cutting import CutLimits
from cabins.layouts.models import Place
from cabins.roof_members.models import RoofMember
from cabins.set_logs.fitting import LogStretch, misfits
from cabins.set_logs.models import SetLog
from cabins.walls.queries import layout_of
from crews.accounts.models import Crew
from crews.api.problems import Fault, fault
from inventory.logs.models import Log

# A place of a wall, or a member: (cabin, wall, round, piece) or (cabin, member).
Target = tuple[Any, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pin:
    """A log and where it is to lie; `from_butt_mm`: where its piece begins, None: as fits best.

    `at`: the pointer to it in the request.
    """

    at: str
    log: Log
    target: Target
    from_butt_mm: float | None


def target_fields(row: Mapping[str, Any]) -> dict[str, Any]:
    """Of an instruction or a job's pin what says where it wants its log: a member, or a place of a wall."""
    names = ("cabin", "member") if row["member"] is not None else ("cabin", "wall", "round", "piece")
    return {name: row[name] for name in names}


def target_of(row: Mapping[str, Any]) -> Target:
    """Where an instruction or a job's pin wants its log."""
    return tuple(target_fields(row).values())


def target_lengths_mm(cabins: Collection[Cabin]) -> dict[Target, float]:
    """How long the piece of every place and member of these cabins is; one query."""
    rows = Place.objects.filter(cabin__in=cabins).values_list(
        "cabin", "wall", "round", "piece", F("end_mm") - F("start_mm")
    )
    members = {
        (cabin.id, member.id): member.length_mm
        for cabin in cabins
        if cabin.layout is not None
        for member in layout_of(cabin).single_members
    }
    return {row[:4]: float(row[4]) for row in rows} | members


def pin_faults(crew: Crew, pins: Sequence[Pin], *, lengths_mm: Mapping[Target, float]) -> list[Fault]:
    """What keeps each pin from being held; targets that are not there are left to others to tell."""
    if not pins:
        return []
    cuts = cut_limits(crew)
    lying = _lying({pin.target[0] for pin in pins})
    found = []
    for pin in pins:
        there = lying.get(pin.target)
        if there is not None and there.id != pin.log.id:
            found.append(fault(f"{pin.at}/log", f"Log {there.number} lies there already.", "place_taken"))
        elif pin.target in lengths_mm:
            found += _too_short(pin, lengths_mm[pin.target], cuts)
    return found


def _too_short(pin: Pin, length_mm: float, cuts: CutLimits) -> Iterable[Fault]:
    near = cuts.trim_each_end_mm if pin.from_butt_mm is None else pin.from_butt_mm
    piece = LogStretch(near_butt_mm=near, near_tip_mm=near + length_mm)
    field = "log" if pin.from_butt_mm is None else "from_butt_mm"
    for misfit in misfits(piece=piece, log_mm=float(pin.log.length_mm), others=(), cuts=cuts):
        # A plan trims both ends; whoever says where the piece begins may trim less.
        if pin.from_butt_mm is None or not misfit.is_doubtful:
            yield fault(f"{pin.at}/{field}", misfit.detail, misfit.code)


def _lying(cabins: Iterable[UUID]) -> dict[Target, Log]:
    """The log in each place that is set, and of each member that is made."""
    placed = SetLog.objects.filter(cabin__in=cabins, undone_at=None).select_related("log")
    made = RoofMember.objects.filter(cabin__in=cabins, undone_at=None).select_related("log")
    return {(row.cabin_id, row.wall, row.round, row.piece): row.log for row in placed} | {
        (row.cabin_id, row.member): row.log for row in made
    }
