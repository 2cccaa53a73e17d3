"""What the ids of a set log stand for: every one that is not there is named, cabin and log come locked."""

from dataclasses import dataclass
from uuid import UUID

from cabins.cabins.models import Cabin
from cabins.core.layout_parts import Layout
from cabins.layouts.models import Place
from cabins.walls.queries import layout_of
from crews.accounts.models import Crew, Member
from crews.api.problems import Fault, InvalidInput, fault
from inventory.logs.models import Log


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedRows:
    """What a body's ids stand for."""

    cabin: Cabin
    layout: Layout
    place: Place
    log: Log
    set_by: Member
    checked_by: Member | None


def looked_up(
    crew: Crew,
    cabin: UUID,
    place: tuple[str, int, int],
    log: UUID,
    set_by: UUID | None,
    checked_by: UUID | None,
    recorded_by: Member,
) -> NamedRows:
    """The rows that the ids stand for, cabin and log locked. InvalidInput names all that are not there."""
    faults: list[Fault] = []
    building = Cabin.objects.of(crew).select_for_update(of=("self",)).filter(id=cabin).first()
    if building is None:
        faults.append(fault("/cabin", "No such cabin in this crew.", "unknown"))
    held = Log.objects.of(crew).select_for_update(of=("self",)).filter(id=log).first()
    if held is None:
        faults.append(fault("/log", "No such log in this crew.", "unknown"))
    wall, number, piece = place
    spot = Place.objects.filter(cabin=building, wall=wall, round=number, piece=piece).first()
    if building is not None and spot is None:
        faults.append(_no_such_place(building, place))
    people = {m.id: m for m in Member.objects.of(crew).filter(id__in=[i for i in (set_by, checked_by) if i])}
    faults += [
        fault(pointer, "No such member in this crew.", "unknown")
        for pointer, one in (("/set_by", set_by), ("/checked_by", checked_by))
        if one is not None and one not in people
    ]
    if building is None or held is None or spot is None or faults:
        raise InvalidInput(errors=faults)
    return NamedRows(
        cabin=building,
        layout=layout_of(building),
        place=spot,
        log=held,
        set_by=people[set_by] if set_by else recorded_by,
        checked_by=people[checked_by] if checked_by else None,
    )


def _no_such_place(cabin: Cabin, place: tuple[str, int, int]) -> Fault:
    wall, number, _ = place
    in_wall = Place.objects.filter(cabin=cabin, wall=wall)
    if not in_wall.exists():
        return fault("/wall", f"{cabin.name} has no wall {wall}.", "unknown")
    if not in_wall.filter(round=number).exists():
        return fault("/round", f"Wall {wall} has no round {number}.", "unknown")
    return fault("/piece", f"Round {number} of wall {wall} has no such piece.", "unknown")
