"""A log's and a piece's figures: volumes, weight, balance, sling, crown, each with basis and uncertainty."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from decimal import Decimal
from typing import Any
from uuid import UUID

from crews.accounts.crew_settings import Used
from crews.accounts.models import Crew
from crews.accounts.queries import row_or_not_found
from crews.api.answers import without_noise
from crews.api.problems import InvalidQuery, fault
from inventory.core.board_feet import Scaling, scale_log
from inventory.core.crew_units import Sentence, sentence_of
from inventory.core.lifting import BadSling, balance_point, two_leg_sling
from inventory.core.log_rules import BadScale, BoardRule
from inventory.core.measure import FT3_PER_M3, KG_PER_LB
from inventory.core.moisture import BadAir, BadShrinkage, equilibrium_moisture, shrinkage
from inventory.core.profile import (
    BETWEEN_READINGS,
    READING_SD_MM,
    BadPosition,
    LogProfile,
    diameter_error_mm_at,
    diameter_mm_at,
    piece_crown_mm,
    piece_of,
)
from inventory.core.volume import CubicRule, cubic_volume
from inventory.core.weight import Seasoning, piece_weight
from inventory.core.wood import BadMoisture, BadWood
from inventory.logs.drawing_values import units_of
from inventory.logs.models import MEASURES, Log
from inventory.logs.profiles import WOOD, profile_of_row, seasoning_of_row, wood_of_row
from inventory.scaling.queries import scaling_of, used_rows
from inventory.yards.models import Species

Row = dict[str, Any]
_CROWN_BASIS = {
    "rule": "arc of a circle: the gap grows with the square of the length",
    "source": "geometry",
    "assumption": "a bow, not a crook; the line is bowed alike all along",
}
_CROWN_UNCERTAINTY = Sentence(
    "read with a string line to about {read:error} (common practice, no source)", read=3
)
NOT_LOOKED_AT = "Nobody looked at this log's crown yet: sight along it before it is chosen for a place."
_METAL_CAUTION = "There is metal in this log: no saw, chisel or notch may come near it. Mark it on the wood."


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftTerms:
    """What a lift is reckoned for: how dry the log is (None: as charted), the angle of the sling's legs."""

    seasoning: Seasoning | None
    moisture_pct: float | None
    sling_angle_deg: float


def _row(crew: Crew, id: UUID) -> Row:
    wood = [f"species__{name}" for name in WOOD]
    return row_or_not_found(
        Log.objects.of(crew).values(
            "id", "number", "measures_version", "species", "seasoning", *MEASURES, *wood
        ),
        id,
    )


def log_figures(
    crew: Crew,
    id: UUID,
    *,
    lift: LiftTerms,
    scaling: Sequence[Used],
    cubic_rules: list[CubicRule],
    board_rules: list[BoardRule],
) -> Row:
    """What LogFiguresOut describes. Raises NotFound, InvalidQuery."""
    row = _row(crew, id)
    profile = profile_of_row(row)
    scale = scaling_of(scaling)
    return without_noise(
        {
            **{name: row[name] for name in ("id", "number", "measures_version", "hazards")},
            "sawn_thickness_mm": profile.sawn_thickness_mm,
            "written": _written(crew, row),
            "diameters": [_diameter(profile, at) for at in _places(profile)],
            "taper_mm_per_m": _taper(profile),
            "crown": _crown(row),
            "volumes": [_volume(profile, rule) for rule in cubic_rules],
            "board_feet": [_scaled(profile, rule, scale) for rule in board_rules],
            "scaling": used_rows(scaling),
            **_lifted(row, profile, crew, from_butt_mm=0.0, to_mm=profile.length_mm, lift=lift),
            "cautions": _cautions(row["hazards"]),
        }
    )


def piece_figures(crew: Crew, id: UUID, *, from_butt_mm: Decimal, length_mm: Decimal, lift: LiftTerms) -> Row:
    """What PieceFiguresOut describes. Raises NotFound, InvalidQuery for a piece that is not in the log."""
    row = _row(crew, id)
    profile = profile_of_row(row)
    start, length = float(from_butt_mm), float(length_mm)
    try:
        piece = piece_of(
            profile,
            from_butt_mm=start,
            length_mm=length,
            crown_mm=_float(row["crown_mm"]),
            crook_mm=float(row["crook_mm"]),
            crook_at_mm=_float(row["crook_at_mm"]),
        )
    except BadPosition as bad:
        raise InvalidQuery(errors=[fault("?length_mm", sentence_of(bad), "outside_log")]) from bad
    hazards = [
        {**one, "from_piece_mm": one["from_butt_mm"] - start}
        for one in row["hazards"]
        if one["from_butt_mm"] <= start + length and one["from_butt_mm"] + (one["extent_mm"] or 0) >= start
    ]
    return without_noise(
        {
            "log": row["id"],
            **{name: row[name] for name in ("number", "measures_version")},
            **units_of(crew).beside(asdict(piece), along=["from_butt", "length"], across=["middle"]),
            "middle_error_mm": diameter_error_mm_at(profile, start + length / 2),
            "hazards": hazards,
            "basis": {
                "rule": "straight between stations; crown by the square of the length, a crook whole or not",
                "source": "geometry",
                "assumption": Sentence(
                    "each diameter read to {sd:error}, one standard deviation", sd=READING_SD_MM
                ),
            },
            "uncertainty": Sentence(
                "one standard deviation of the middle as it is read; {between}; the crown {crown}",
                between=BETWEEN_READINGS,
                crown=_CROWN_UNCERTAINTY,
            ),
            **_lifted(row, profile, crew, from_butt_mm=start, to_mm=start + length, lift=lift),
            "cautions": _cautions(hazards),
        }
    )


def _written(crew: Crew, row: Row) -> Row:
    """The measures in the crew's own way of writing lengths."""
    units = units_of(crew)
    across = {
        name: None if row[f"{name}_mm"] is None else units.across(row[f"{name}_mm"])
        for name in ("butt", "middle", "tip", "sawn_thickness")
    }
    crown = units.crown(row["crown_mm"], row["crown_side"])
    return {"length": units.along(row["length_mm"]), **across, "crown": crown}


def _float(value: Decimal | None) -> float | None:
    return None if value is None else float(value)


def _places(profile: LogProfile) -> list[float]:
    return sorted({0.0, profile.length_mm, *(at for at, _ in profile.stations)})


def _diameter(profile: LogProfile, at_mm: float) -> Row:
    return {
        "from_butt_mm": at_mm,
        "diameter_mm": diameter_mm_at(profile, at_mm),
        "error_mm": diameter_error_mm_at(profile, at_mm),
    }


def _taper(profile: LogProfile) -> float:
    (first, butt), (last, tip) = profile.stations[0], profile.stations[-1]
    return (butt - tip) / (last - first) * 1000


def _crown(row: Row) -> Row:
    crown, length = _float(row["crown_mm"]), float(row["length_mm"])
    half = None if crown is None else piece_crown_mm(crown_mm=crown, log_mm=length, piece_mm=length / 2)
    return {
        "crown_mm": crown,
        "side": row["crown_side"],
        "at_mm": row["crown_at_mm"],
        "half_length_mm": half,
        "crook_mm": row["crook_mm"],
        "crook_at_mm": row["crook_at_mm"],
        "basis": _CROWN_BASIS,
        "uncertainty": _CROWN_UNCERTAINTY,
        "cautions": [NOT_LOOKED_AT] if crown is None else [],
    }


def _volume(profile: LogProfile, rule: CubicRule) -> Row:
    volume = cubic_volume(profile, rule=rule)
    return {**asdict(volume), "volume_ft3": volume.volume_m3 * FT3_PER_M3}


def _scaled(profile: LogProfile, rule: BoardRule, scaling: Scaling) -> Row:
    """Board feet by one rule, or why the rule does not reach this log."""
    try:
        return {**asdict(scale_log(profile, rule=rule, scaling=scaling)), "why_not": ""}
    except BadScale as bad:
        nothing = dict.fromkeys(("board_feet", "low_board_feet", "high_board_feet", "basis"))
        return {
            "rule": rule,
            **nothing,
            "pieces": [],
            "uncertainty": "",
            "cautions": [],
            "why_not": sentence_of(bad),
        }


def _lifted(
    row: Row, profile: LogProfile, crew: Crew, *, from_butt_mm: float, to_mm: float, lift: LiftTerms
) -> Row:
    """Weight, balance and sling of the wood between two positions; no weight without a species."""
    balance = asdict(balance_point(profile, from_butt_mm=from_butt_mm, to_mm=to_mm))
    balance["from_log_butt_mm"] = from_butt_mm + balance["from_butt_end_mm"]
    balance = units_of(crew).beside(balance, along=["from_butt_end", "from_log_butt"])
    if row["species"] is None:
        why = "The log has no species, so its weight is not known: weigh it, or say its species."
        return {"weight": None, "balance": balance, "sling": None, "why_no_weight": why}

    try:
        weight = piece_weight(
            profile,
            wood_of_row(row, prefix="species__"),
            from_butt_mm=from_butt_mm,
            to_mm=to_mm,
            seasoning=lift.seasoning or seasoning_of_row(row),
            moisture_pct=lift.moisture_pct,
        )
    except BadMoisture as bad:
        raise InvalidQuery(errors=[fault("?moisture_pct", sentence_of(bad), "bad_moisture")]) from bad
    try:
        sling = two_leg_sling(weight_kg=weight.lift_kg, angle_deg=lift.sling_angle_deg)
    except BadSling as bad:
        raise InvalidQuery(errors=[fault("?sling_angle_deg", sentence_of(bad), "bad_sling")]) from bad
    return {
        "weight": {**asdict(weight), "lift_lb": weight.lift_kg / float(KG_PER_LB)},
        "balance": balance,
        "sling": asdict(sling),
        "why_no_weight": "",
    }


def _cautions(hazards: list[Row]) -> list[str]:
    return [_METAL_CAUTION] if any(one["kind"] == "metal" for one in hazards) else []


def moisture_of_air(*, temperature_c: float, humidity_pct: float) -> Row:
    """What MoistureOut describes: the moisture that wood comes to in this air. Raises InvalidQuery."""
    try:
        return without_noise(
            asdict(equilibrium_moisture(temperature_c=temperature_c, humidity_pct=humidity_pct))
        )
    except BadAir as bad:
        raise InvalidQuery(errors=[fault("?temperature_c", sentence_of(bad), "bad_air")]) from bad


def species_shrinkage(
    crew: Crew,
    id: UUID,
    *,
    dimension_mm: Decimal,
    from_moisture_pct: float | None,
    to_moisture_pct: float,
) -> Row:
    """What ShrinkageOut describes: what a dimension of this species loses. Raises NotFound, InvalidQuery."""
    species = row_or_not_found(Species.objects.of(crew).values("id", *WOOD), id)
    try:
        found = shrinkage(
            wood_of_row(species),
            dimension_mm=float(dimension_mm),
            from_moisture_pct=from_moisture_pct,
            to_moisture_pct=to_moisture_pct,
        )
    except (BadWood, BadMoisture, BadShrinkage) as bad:
        raise InvalidQuery(errors=[fault("?to_moisture_pct", sentence_of(bad), "bad_shrinkage")]) from bad
    return without_noise(
        {"species": id, "name": species["name"], "dimension_mm": dimension_mm, **asdict(found)}
    )
