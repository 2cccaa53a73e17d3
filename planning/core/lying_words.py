"""How a log lies and how it hangs, as a crew says it: the lines that sheets, paper and pages show."""

from collections.abc import Mapping
from typing import Any

from inventory.core.crew_units import CrewUnits

Row = Mapping[str, Any]
_HANGS = {"whole": "the uncut log", "cut": "cut to its piece"}
_DRY = {"green": "green", "partly_dry": "partly dry", "dry": "dry", None: "taken as green"}
_TURNED = {"up": "on top", "down": "below", "side": "to the side"}


def hanging_words(lift: Row) -> str:
    """What hangs on the sling and how dry it is taken for."""
    return f"{_HANGS[lift['hangs']]}, {_DRY[lift['seasoning']]}"


def lying_lines(row: Row, units: CrewUnits) -> list[str]:
    """How the log of a setting sheet's row is laid and scribed: crown, gap along the wall, scribers."""
    lying, lines = row["lying"], []
    # A ripped half lies on its flat: its bow is neither up nor down. One too small to write is none.
    if units.across(row["crown_mm"] or 0) != units.across(0) and row["rip"] is None:
        lines.append(_crown_line(row, lying["crown_laid"]))
    if gap := lying["gap_along"]:
        lines.append(_gap_line(gap, units))
    if scribing := lying["scribing"]:
        lines += _scribing_lines(scribing, units)
    return lines


def _crown_line(row: Row, laid: str) -> str:
    if row["crown_side"]:
        return f"Lay the crown {laid}: the side charted as {row['crown_side']} comes {_TURNED[laid]}"
    return f"Lay the crown {laid}: which side it bows to is not charted, so sight along the log"


def _gap_line(gap: Row, units: CrewUnits) -> str:
    """Logs of a scribed wall overlap, those of a chinked one leave a gap."""
    at = f"{units.along(gap['largest_at_mm'])} from the wall's start"
    least, most = gap["smallest_mm"], gap["largest_mm"]
    if most < 0:
        return f"Overlap along the wall {units.across(-most)} to {units.across(-least)}, least {at}"
    if least < 0:
        return f"Along the wall {units.across(-least)} of overlap to {units.across(most)} of gap, widest {at}"
    return f"Gap along the wall {units.across(least)} to {units.across(most)}, widest {at}"


def _scribing_lines(scribing: Row, units: CrewUnits) -> list[str]:
    across, along = units.across, units.along
    first, final = scribing["first"], scribing["final"]
    tops = " and ".join(along(rest["top_mm"]) for rest in first["rests"])
    rough = " and ".join(across(rest["rough_cut_mm"]) for rest in final["rests"])
    widths = ", ".join(f"{across(one['width_mm'])} ({one['share']:.0%})" for one in scribing["grooves"])
    return [
        f"Un-notched its top rests at {tops}; widest gap {across(first['widest_mm'])}, scribers "
        f"{across(first['groove_setting_mm'])}",
        f"Rough notches {rough}; then the final scribe {across(final['groove_setting_mm'])}, widest gap "
        f"{across(final['widest_mm'])}",
        f"Groove, start to end of the wall: {widths}",
    ]
