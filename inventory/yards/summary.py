"""A yard read as a whole: how many logs, how long and how thick, and what is unfit and why."""

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from decimal import Decimal
from statistics import fmean, quantiles
from typing import Any
from uuid import UUID

from django.db.models import F

from crews.accounts.models import Crew, LengthUnit
from crews.accounts.queries import row_or_not_found
from inventory.core.chart_line import HazardKind
from inventory.core.measure import THICKNESS_UNIT, Unit, write_length
from inventory.logs.models import Log, LogState
from inventory.yards.models import Yard

Row = dict[str, Any]
_FIELDS = [
    "id", "number", "state", "length_mm", "middle_mm", "crown_mm", "crook_mm", "grain_hand", "hazards",
    "culled", "cull_reason", "rack", "species",
]  # fmt: skip
FREE = {LogState.IN_RACK, LogState.PUT_ASIDE}
LYING = {*FREE, LogState.RESERVED}
# Widths of the bins, along and across, in steps a crew thinks in: half a metre and a centimetre, or two feet
# and half an inch.
_METRIC_BINS_MM = (500.0, 10.0)
_TRADE_BINS_MM = (609.6, 12.7)
_UNFIT_KINDS = {
    HazardKind.METAL: "Metal grown in or driven in: no saw and no notch may come near it.",
    HazardKind.ROT: "Rot.",
    HazardKind.SHAKE: "Shake: the rings part.",
    HazardKind.SPLIT: "Split.",
    HazardKind.INSECTS: "Insects.",
}
# What a reader calls it, and where it stands.
_LOOKED_AT = {"crown": "crown_mm", "grain": "grain_hand"}
CAUTION = (
    "Only dangers that were charted are listed. Go over a log with a metal detector before a saw or a chisel "
    "meets it, most of all if it may have stood by a fence."
)


def yard_summary(crew: Crew, yard: UUID, *, crown_limit_mm: Decimal) -> Row:
    """What SummaryOut describes. Spreads and groups are of logs that lie in the yard: free or reserved."""
    name = row_or_not_found(Yard.objects.of(crew).values("id", "name"), yard)["name"]
    logs: list[Row] = list(
        Log.objects.of(crew)
        .filter(yard=yard)
        .order_by("number_order", "id")
        .values(*_FIELDS, rack_name=F("rack__name"), species_name=F("species__name"))
    )
    states = Counter(log["state"] for log in logs)
    lying = [log for log in logs if log["state"] in LYING]
    in_trade_units = crew.length_unit in (LengthUnit.INCH, LengthUnit.FOOT_INCH)
    along_mm, across_mm = _TRADE_BINS_MM if in_trade_units else _METRIC_BINS_MM
    return {
        "yard": yard,
        "name": name,
        "count": len(logs),
        "by_state": {state: states[state] for state in LogState.values},
        "lying": _group(lying),
        "lengths": _spread(lying, "length_mm", bin_mm=along_mm),
        "middles": _spread(lying, "middle_mm", bin_mm=across_mm),
        "by_rack": _groups(lying, "rack"),
        "by_species": _groups(lying, "species"),
        "crown_limit_mm": crown_limit_mm,
        "unfit": list(_unfit(lying, crew=crew, crown_limit_mm=crown_limit_mm)),
        "cautions": [CAUTION],
    }


def _group(logs: list[Row]) -> Row:
    free = [log for log in logs if log["state"] in FREE]
    return {
        "count": len(logs),
        "free": len(free),
        "length_mm": sum(log["length_mm"] for log in logs),
        "free_length_mm": sum(log["length_mm"] for log in free),
        "mean_middle_mm": _mean(logs, "middle_mm"),
    }


def _mean(logs: list[Row], field: str) -> float | None:
    return round(fmean(log[field] for log in logs), 1) if logs else None


def _groups(logs: list[Row], by: str) -> list[Row]:
    """Groups in the order of their names; logs without one come last."""
    found: dict[tuple[bool, str], list[Row]] = {}
    for log in logs:
        found.setdefault((log[by] is None, log[f"{by}_name"] or ""), []).append(log)
    return [
        {by: ones[0][by], "name": ones[0][f"{by}_name"], **_group(ones)} for _, ones in sorted(found.items())
    ]


def _spread(logs: list[Row], field: str, *, bin_mm: float) -> Row | None:
    """Least, quarters and most of a length, and a histogram whose bins begin at round numbers."""
    if not logs:
        return None
    values = sorted(float(log[field]) for log in logs)
    quarters = quantiles(values, n=4, method="inclusive") if len(values) > 1 else values * 3
    bins: dict[int, list[Row]] = {}
    for log in logs:
        bins.setdefault(math.floor(float(log[field]) / bin_mm), []).append(log)
    return {
        "least_mm": values[0],
        "quarter_mm": round(quarters[0], 1),
        "half_mm": round(quarters[1], 1),
        "three_quarters_mm": round(quarters[2], 1),
        "most_mm": values[-1],
        "mean_mm": round(fmean(values), 1),
        "bins": [
            {
                "from_mm": round(step * bin_mm, 1),
                "to_mm": round((step + 1) * bin_mm, 1),
                "count": len(bins.get(step, ())),
                "mean_middle_mm": _mean(bins.get(step, []), "middle_mm"),
            }
            for step in range(min(bins), max(bins) + 1)
        ],
    }


def _unfit(logs: list[Row], *, crew: Crew, crown_limit_mm: Decimal) -> Iterable[Row]:
    """Why logs are unfit or want care, each reason with its logs; a log may be there more than once."""
    unit, limit = Unit(crew.length_unit), float(crown_limit_mm)

    def across(mm: Decimal) -> str:
        return write_length(mm, unit=THICKNESS_UNIT[unit], fraction=crew.fraction)

    def along(mm: Decimal | float) -> str:
        return write_length(mm, unit=unit, fraction=crew.fraction)

    culled = [(log, log["cull_reason"], None) for log in logs if log["culled"]]
    yield _reason("culled", "Put aside as culls.", culled)
    for kind, detail in _UNFIT_KINDS.items():
        found = [(log, [one for one in log["hazards"] if one["kind"] == kind]) for log in logs]
        yield _reason(
            kind,
            detail,
            [
                (log, ", ".join(f"{along(one['from_butt_mm'])} from the butt" for one in ones), None)
                for log, ones in found
                if ones
            ],
        )
    unknown = [(log, [name for name in _LOOKED_AT if log[_LOOKED_AT[name]] is None]) for log in logs]
    yield _reason(
        "not_looked_at",
        "Crown or grain unknown: nobody looked at it yet, so it is taken as this crew's logs usually are.",
        [(log, " and ".join(names), None) for log, names in unknown if names],
    )
    crowned = [log for log in logs if (log["crown_mm"] or 0) > crown_limit_mm]
    pieces = [float(log["length_mm"]) * math.sqrt(limit / float(log["crown_mm"])) for log in crowned]
    yield _reason(
        "crown",
        f"Crown over {across(crown_limit_mm)}; a shorter piece bows less, by the square of its length.",
        [
            (log, f"{across(log['crown_mm'])}, within the limit up to {along(piece)}", round(piece, 1))
            for log, piece in zip(crowned, pieces, strict=True)
        ],
    )
    crooked = [log for log in logs if log["crook_mm"] > crown_limit_mm]
    detail = f"Crook over {across(crown_limit_mm)}; only a piece without it is straight."
    yield _reason("crook", detail, [(log, across(log["crook_mm"]), None) for log in crooked])


def _reason(reason: str, detail: str, found: Sequence[tuple[Row, str, float | None]]) -> Row:
    return {
        "reason": reason,
        "detail": detail,
        "count": len(found),
        "logs": [
            {
                "id": log["id"],
                "number": log["number"],
                "state": log["state"],
                "why": why,
                "piece_mm": piece_mm,
                "metal_from_butt_mm": [
                    one["from_butt_mm"] for one in log["hazards"] if one["kind"] == HazardKind.METAL
                ],
            }
            for log, why, piece_mm in found
        ],
    }
