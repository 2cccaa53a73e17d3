"""What is doubtful about a log as it is set, in codes and sentences that stay with the record."""

from collections.abc import Mapping, Sequence
from typing import Any

from cabins.cabins.models import Cabin
from cabins.choices.grain import grain_judge
from cabins.core.grain import GrainWeight
from cabins.core.layout_parts import Layout
from cabins.core.notching import NOTCH_LIMIT
from cabins.core.stack import stack_up
from cabins.layouts.models import Place
from cabins.set_logs.fitting import LogStretch, NearHazard
from cabins.set_logs.models import SetLog
from cabins.set_logs.pieces import core_place
from inventory.core.crew_units import Sentence
from inventory.core.profile import nearest_diameter_mm
from inventory.logs.drawing_values import units_of
from inventory.logs.models import Log
from inventory.logs.profiles import measures_of, profile_of_log

Warned = dict[str, str]

# The warnings that follow from what was measured as cut, and change with it.
AS_CUT = {"gap_out_of_band", "notch_too_deep", "notch_shallow"}


def warned(code: str, detail: str) -> Warned:
    return {"code": code, "detail": detail}


def hazard_warnings(hazards: Sequence[NearHazard]) -> list[Warned]:
    """Metal and knots in the piece. Metal near a cut is here only if it was stated to be taken out."""
    found = []
    for hazard in hazards:
        where = Sentence("{at:along} from the butt", at=hazard.from_butt_mm)
        if hazard.kind == "metal" and hazard.is_near:
            found.append(
                warned(
                    "metal_removed",
                    Sentence("Metal was charted {where}, near a cut; stated to be taken out.", where=where),
                )
            )
        elif hazard.kind == "metal":
            found.append(
                warned(
                    "metal_in_piece",
                    Sentence("Metal {where}: keep every saw and drill away from it, for ever.", where=where),
                )
            )
        elif hazard.is_near:
            detail = Sentence("A {kind} {where}, near a cut or notch.", kind=hazard.kind, where=where)
            found.append(warned(f"{hazard.kind}_near_cut", detail))
    return found


def cull_warnings(log: Log) -> list[Warned]:
    """A cull that is used after all."""
    if not log.culled:
        return []
    why = f": {log.cull_reason}" if log.cull_reason else ""
    return [warned("culled", f"The log was put aside as a cull{why}.")]


def crook_warnings(log: Log, piece: LogStretch) -> list[Warned]:
    """A crook that the piece holds: unlike a crown it does not shrink with the piece."""
    at = log.crook_at_mm
    if not log.crook_mm or at is None or not piece.near_butt_mm < at < piece.near_tip_mm:
        return []
    detail = Sentence("A crook of {crook:across} lies {at:along} from the butt.", crook=log.crook_mm, at=at)
    return [warned("crook_in_piece", detail)]


def crown_warnings(log: Log, *, limit_mm: float) -> list[Warned]:
    """A crown that nobody looked at, in a log for a member that may bow only so far."""
    if log.crown_mm is not None:
        return []
    limit = units_of(log.crew).across(limit_mm)
    detail = f"Nobody looked at this log's crown yet; the layout allows {limit}: measure it."
    return [warned("crown_unknown", detail)]


def order_warnings(cabin: Cabin, place: Place, log: Log) -> list[Warned]:
    """A cull that is set after all, and a place under this one that is still open."""
    found = cull_warnings(log)
    below = Place.objects.filter(
        cabin=cabin,
        wall=place.wall,
        round=place.round - 1,
        start_mm__lt=place.end_mm,
        end_mm__gt=place.start_mm,
    )
    if below.exclude(id__in=SetLog.objects.filter(cabin=cabin, undone_at=None).values("place")).exists():
        under = f"Round {place.round - 1}" if place.round > 1 else "The half log"
        found.append(warned("open_below", f"{under} of wall {place.wall} is still open under it."))
    return found


def grain_warnings(layout: Layout, place: Place, log: Log) -> list[Warned]:
    """Every rule of grain that speaks against the log in this place, as the crew has switched them."""
    expected = stack_up(layout, diameters_mm={})
    verdict = grain_judge(log.crew).judge(expected, core_place(place), measures_of(log))
    return [
        warned(
            "grain_forbidden" if rule.weight is GrainWeight.BIND else "grain_doubtful",
            f"The log's spiral grain is {verdict.band}. {rule.text} Source: {rule.source}.",
        )
        for rule in verdict.objections
    ]


def as_cut_warnings(
    layout: Layout, log: Log, *, at_in_log_mm: Mapping[str, float], fields: Mapping[str, Any]
) -> list[Warned]:
    """A gap out of its band, a notch beyond its limits. `at_in_log_mm`: where the corners lie, by end."""
    found, units = [], units_of(log.crew)
    gap, band = fields["gap_mm"], layout.gap
    if gap is not None and not band.smallest_mm <= gap <= band.largest_mm:
        found.append(
            warned(
                "gap_out_of_band",
                f"The gap of {units.across(gap)} is outside {units.across(band.smallest_mm)} to "
                f"{units.across(band.largest_mm)}.",
            )
        )
    profile = profile_of_log(log)
    for end in ("start", "end"):
        depth = fields[f"notch_{end}_mm"]
        if depth is None:
            continue
        diameter = nearest_diameter_mm(profile, at_in_log_mm[end])
        share = float(depth) / diameter
        if share > NOTCH_LIMIT[1]:
            found.append(
                warned(
                    "notch_too_deep",
                    f"The notch at the {end} takes {share:.0%} of the log, more than {NOTCH_LIMIT[1]:.0%}: "
                    f"too little wood may be left to carry. Ask whoever answers for the structure.",
                )
            )
        elif share < NOTCH_LIMIT[0]:
            found.append(
                warned(
                    "notch_shallow",
                    f"The notch at the {end} takes {share:.0%} of the log, less than {NOTCH_LIMIT[0]:.0%}.",
                )
            )
    return found
