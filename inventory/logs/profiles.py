"""From stored rows to the core's values: a log's profile, a species' wood."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from inventory.core.profile import LogProfile, profile_of
from inventory.core.weight import Seasoning
from inventory.core.wood import SpeciesFigures as Wood
from inventory.logs.models import MEASURES, Log

# The fields of a species that its wood follows from.
WOOD = [
    "name",
    "basic_gravity",
    "moisture_heart_pct",
    "moisture_sap_pct",
    "shrink_radial_pct",
    "shrink_tangential_pct",
    "fibre_saturation_pct",
    "sapwood_mm",
    "change_radial",
    "change_tangential",
    "green_density_kg_m3",
    "source",
]


def measures_of(log: Log) -> dict[str, Any]:
    """A stored log's measures as the row that lists give."""
    return {name: getattr(log, name) for name in MEASURES}


def profile_of_row(row: Mapping[str, Any]) -> LogProfile:
    """The profile of a log from its measures (a `.values()` row or `measures_of(log)`), in float mm.

    For a log sawn on two faces the charted diameters are the heights of its face.
    """
    thickness = row["sawn_thickness_mm"]
    return profile_of(
        length_mm=float(row["length_mm"]),
        butt_mm=float(row["butt_mm"]),
        middle_mm=float(row["middle_mm"]),
        tip_mm=float(row["tip_mm"]),
        station_inset_mm=float(row["station_inset_mm"]),
        further=[(float(s["from_butt_mm"]), float(s["diameter_mm"])) for s in row["further_stations"]],
        sawn_thickness_mm=None if thickness is None else float(thickness),
    )


def profile_of_log(log: Log) -> LogProfile:
    """The profile of a stored log, in float mm."""
    return profile_of_row(measures_of(log))


def seasoning_of_row(row: Mapping[str, Any]) -> Seasoning | None:
    """How far a log has dried, as charted; None if nobody said."""
    return Seasoning(row["seasoning"]) if row["seasoning"] else None


def wood_of_row(row: Mapping[str, Any], *, prefix: str = "") -> Wood:
    """The wood of a species from its row; `prefix` stands before each field's name. Raises BadWood."""
    given = {name: row[f"{prefix}{name}"] for name in WOOD}
    figures: dict[str, Any] = {
        name: float(value) if isinstance(value, Decimal) else value for name, value in given.items()
    }
    return Wood(**figures)
