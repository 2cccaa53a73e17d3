"""The lifts of a plan's logs, as the crew lifts them."""

from collections.abc import Mapping
from typing import Any

from django.db.models import Count

from inventory.logs.models import LogState
from inventory.logs.profiles import profile_of_row, seasoning_of_row, wood_of_row
from planning.core.lifts import PlannedLift, Rig, hangs_whole_or_cut, lift_of
from planning.core.sheets import SettingRow
from planning.plans.models import Plan, PlannedPiece

AS_PLANNED = Rig()
_CUT_BEFORE = (LogState.SET, LogState.CUT_UP)


class PlanLifts:
    """A log from which the plan takes several pieces is cut before it is lifted."""

    def __init__(self, plan: Plan, rig: Rig) -> None:
        pieces = PlannedPiece.objects.filter(plan=plan).values("log").annotate(number=Count("id"))
        self._rig = rig
        self._pieces_of = dict(pieces.values_list("log", "number"))

    def lift(self, sheet: SettingRow, row: Mapping[str, Any]) -> PlannedLift:
        """The lift of a row of a setting sheet, whose log is in `row`."""
        return self.between(sheet.cut_near_butt_mm, sheet.cut_near_tip_mm, row)

    def between(self, near_butt_mm: float, near_tip_mm: float, row: Mapping[str, Any]) -> PlannedLift:
        """The lift of a log for the piece between two cuts, from its butt end."""
        # A log of which a piece lies in a wall already was cut, whatever this plan takes of it.
        pieces = max(self._pieces_of.get(row["log"], 1), 2 if row["log_state"] in _CUT_BEFORE else 1)
        return lift_of(
            profile=profile_of_row(row),
            species=None if row["species_name"] is None else wood_of_row(row, prefix="species_"),
            seasoning=seasoning_of_row(row),
            from_butt_mm=near_butt_mm,
            to_mm=near_tip_mm,
            hangs=self._rig.hangs or hangs_whole_or_cut(pieces_of_log=pieces),
            sling_angle_deg=self._rig.sling_angle_deg,
        )
