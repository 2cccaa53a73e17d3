"""What the tests of cabins build: a small rectangle, logs that fit it, and walls set from them."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID, uuid4

from cabins.set_logs.actions import set_log, undo_set_log
from cabins.set_logs.models import SetLog
from crews.accounts.models import Crew
from inventory.logs.models import Log
from inventory.yards.models import Species, Yard
from tests.people import MORNING
from tests.rectangle import RECTANGLE

# Long past, so that no test depends on today's date.
NOON = datetime(2024, 5, 4, 12, tzinfo=UTC)
EVENING = NOON + timedelta(hours=6)

DOOR = {
    "id": "door",
    "kind": "door",
    "wall": "A",
    "offset_mm": 2000,
    "width_mm": 900,
    "sill_mm": 100,
    "head_mm": 900,
}


def a_layout(**changed: Any) -> dict[str, Any]:
    """The rectangle, four rounds of 312 mm, with some fields changed."""
    return {**RECTANGLE, **changed}


def a_cabin(someone: Any, *, name: str = "Lake cabin", layout: dict[str, Any] | None = None) -> str:
    """A cabin taken up and laid out by HTTP; its address."""
    address = f"cabins/{uuid4()}"
    assert someone.put(address, {"name": name}).status_code == 201
    assert someone.put(f"{address}/layout", layout or RECTANGLE).status_code == 201
    return address


def id_of(address: str) -> UUID:
    return UUID(address.split("/")[1])


def a_yard(crew: Crew, name: str = "North yard") -> Yard:
    return Yard.objects.create(crew=crew, name=name, created_at=MORNING, changed_at=MORNING)


def a_log(crew: Crew, *, yard: Yard | None = None, **fields: Any) -> Log:
    """A straight log of 6 m, 340 at the butt, 310 in the middle, 290 at the tip, in the yard."""
    yard = yard or Yard.objects.filter(crew=crew).first() or a_yard(crew)
    species, _ = Species.objects.get_or_create(
        crew=crew,
        name="Test pine",
        defaults={"basic_gravity": Decimal("0.400"), "created_at": MORNING, "changed_at": MORNING},
    )
    measures: dict[str, Any] = {"length_mm": 6000, "butt_mm": 340, "middle_mm": 310, "tip_mm": 290}
    measures |= {"crown_mm": 0, "grain_hand": "straight"}
    number = str(Log.objects.filter(crew=crew).count() + 1)
    return Log.objects.create(
        crew=crew,
        yard=yard,
        species=species,
        created_at=MORNING,
        changed_at=MORNING,
        **{"number": number, **measures, **fields},
    )


def where(wall: str = "A", round_number: int = 1, piece: int = 0) -> dict[str, Any]:
    return {"wall": wall, "round": round_number, "piece": piece}


def record_set(
    someone: Any, cabin: str, log: Log, *, id: UUID | None = None, **fields: Any
) -> tuple[SetLog, bool]:
    """Set `log` in a place (wall A, round 1, piece 0 unless said), 60 mm from its butt, butt at the start."""
    usual: dict[str, Any] = {
        **where(),
        "from_butt_mm": Decimal(60),
        "butt_at": "start",
        "set_at": NOON,
        "set_by": None,
        "checked_by": None,
        "gap_mm": None,
        "notch_start_mm": None,
        "notch_end_mm": None,
        "remarks": "",
        "metal_removed": False,
    }
    return set_log(
        crew=someone.who.crew,
        id=id or uuid4(),
        cabin=id_of(cabin),
        log=log.id,
        recorded_by=someone.who.member,
        at=fields.pop("at", EVENING),
        **{**usual, **fields},
    )


def undo(someone: Any, row: SetLog, reason: str = "Wrong log") -> SetLog:
    return undo_set_log(
        crew=someone.who.crew, id=row.id, reason=reason, undone_by=someone.who.member, at=EVENING
    )


def set_round(someone: Any, cabin: str, round_number: int, **fields: Any) -> list[SetLog]:
    """Fill a whole round of the rectangle, walls A to D, each with a log of its own."""
    return [
        record_set(someone, cabin, a_log(someone.who.crew), wall=wall, round=round_number, **fields)[0]
        for wall in "ABCD"
    ]
