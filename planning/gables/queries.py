"""The gables of a cabin among the logs made and planned for them."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from cabins.cabins.models import Cabin
from cabins.core.drawings.gable import GableToDraw
from cabins.core.drawings.pieces import Filling
from cabins.core.gables import GableSheet, gable_sheet
from cabins.core.stack import Stack
from cabins.roof_members.queries import members_installed_in
from cabins.walls.queries import is_lost
from inventory.core.profile import LogProfile, nearest_diameter_mm
from inventory.logs.profiles import profile_of_log, profile_of_row
from planning.plans.models import Plan, PlanState
from planning.sheets.queries import members_to_come


@dataclass(frozen=True, slots=True, kw_only=True)
class MemberLog:
    """The log that a member is made from, or that a plan has for it."""

    log: UUID
    log_number: str
    filling: Filling
    middle_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Gables:
    """The gables of a cabin, with the logs of their members by name."""

    sheet: GableSheet
    logs: Mapping[str, MemberLog]

    @property
    def log_numbers(self) -> dict[str, str]:
        """The numbers of the logs known, by the member's name."""
        return {name: one.log_number for name, one in self.logs.items()}

    def to_draw(self, wall: str) -> GableToDraw | None:
        """The gable over a wall with its logs' numbers; None: none stands there."""
        gable = next((one for one in self.sheet.gables if one.wall == wall), None)
        if gable is None:
            return None
        return GableToDraw(
            slopes=self.sheet.slopes,
            gable=gable,
            bearings={one.member: one for one in self.sheet.bearings},
            numbers=self.log_numbers,
            fillings={name: one.filling for name, one in self.logs.items()},
        )


def gables_among(cabin: Cabin, stack: Stack, plan: Plan | None) -> Gables | None:
    """The gables over `stack`; None where the layout has no roof line, else two queries.

    `plan`: whose logs stand in for members not made yet.
    """
    if stack.layout.roof_line is None:
        return None
    logs = _member_logs(cabin, plan)
    sheet = gable_sheet(stack, diameters_mm={name: one.middle_mm for name, one in logs.items()})
    return None if sheet is None else Gables(sheet=sheet, logs=logs)


def _member_logs(cabin: Cabin, plan: Plan | None) -> dict[str, MemberLog]:
    found = {}
    if plan is not None:
        filling = Filling.RESERVED if plan.state == PlanState.ADOPTED else Filling.PROPOSED
        found = {
            row["member"]: MemberLog(
                log=row["log"],
                log_number=row["log_number"],
                filling=filling,
                middle_mm=_middle_mm(profile_of_row(row), row["from_butt_mm"], row["member_length_mm"]),
            )
            for row in members_to_come(plan, cabin)
            if not is_lost(row)
        }
    for made in members_installed_in([cabin]).select_related("log"):
        found[made.member] = MemberLog(
            log=made.log_id,
            log_number=made.log.number,
            filling=Filling.SET,
            middle_mm=_middle_mm(profile_of_log(made.log), made.from_butt_mm, made.length_mm),
        )
    return found


def _middle_mm(profile: LogProfile, from_butt_mm: Decimal, length_mm: Decimal) -> float:
    """Diameter of a piece at its own middle."""
    return nearest_diameter_mm(profile, float(from_butt_mm + length_mm / 2))
