"""Half logs as they are ripped: where the line runs, and the height to leave at each end."""

from dataclasses import dataclass

from cabins.core.pile import half_log_mm
from inventory.core.profile import LogProfile, nearest_diameter_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class RipLine:
    """The line along the middle of a part of a log, and what the saw leaves of each half.

    `leave_near_butt_mm`, `leave_near_tip_mm`: height of the half from the rip to its round side, at the cut
    ends of the piece. `kerf_mm`: what the saw takes.
    """

    kerf_mm: float
    leave_near_butt_mm: float
    leave_near_tip_mm: float


def rip_line(
    profile: LogProfile, *, cut_near_butt_mm: float, cut_near_tip_mm: float, kerf_mm: float
) -> RipLine:
    """How a piece from `cut_near_butt_mm` to `cut_near_tip_mm` of a log is ripped along its middle."""
    near_butt, near_tip = (
        half_log_mm(diameter_mm=nearest_diameter_mm(profile, at_mm), kerf_mm=kerf_mm)
        for at_mm in (cut_near_butt_mm, cut_near_tip_mm)
    )
    return RipLine(kerf_mm=kerf_mm, leave_near_butt_mm=near_butt, leave_near_tip_mm=near_tip)
