"""A cabin's settling sheet: what a rule says to leave, and what drying and bedding down will do."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any
from uuid import UUID

from cabins.core.settling import ShrinkageShare, shrinkage_share
from cabins.core.settling_rules import RULES, AllowanceRule, SettlingError, local_code_rule
from cabins.core.settling_sheet import Post, settling_sheet
from cabins.models import Cabin, SetLog
from cabins.queries.sheets import CannotReckon
from cabins.queries.walls import wall_stack
from config.api.problems import Fault, InvalidQuery, fault
from inventory.core.moisture import (
    SERVICE_MOISTURE_PCT,
    BadAir,
    BadShrinkage,
    EquilibriumMoisture,
    equilibrium_moisture,
)
from inventory.core.wood import BadMoisture, BadWood, check_moisture
from inventory.core.wood import Species as Wood
from inventory.models import Species
from inventory.profiles import WOOD, wood_of_row


def settling_answer(
    cabin: Cabin,
    *,
    rule: str,
    species: UUID | None,
    moisture_now_pct: float | None,
    moisture_expected_pct: float | None,
    temperature_c: float | None,
    humidity_pct: float | None,
    code_low_pct: float | None,
    code_high_pct: float | None,
    code_title: str,
    posts_mm: Sequence[float],
) -> dict[str, Any]:
    """Allowance and prediction side by side, per opening, post and round; five queries.

    Without `species` that of the logs set, if it is one. Green unless `moisture_now_pct` was measured. The
    expected moisture is given, or follows from the air, or is that of service. The local code, where given,
    governs. Raises NotLaidOut, InvalidQuery for what does not go together, CannotReckon.
    """
    stack = wall_stack(cabin)
    wood_row = _species_row(cabin, species)
    air = _air(temperature_c, humidity_pct, moisture_expected_pct)
    expected = moisture_expected_pct if air is None else air.moisture_pct
    to_pct = SERVICE_MOISTURE_PCT if expected is None else expected
    share = _share(wood_row, moisture_now_pct, to_pct)
    chosen, code = RULES[rule], _local_code(code_low_pct, code_high_pct, code_title)
    posts = [Post(id=f"post {number}", height_mm=height) for number, height in enumerate(posts_mm, start=1)]
    try:
        sheet = settling_sheet(stack, share=share, rule=chosen, local_code=code, posts=posts)
    except SettlingError as impossible:
        raise CannotReckon(f"{impossible}; look at the heights measured beside the openings.") from impossible
    governing = code or chosen
    return {
        "cabin": cabin.id,
        "species": wood_row["id"],
        "species_name": wood_row["name"],
        "moisture_now_pct": moisture_now_pct,
        "moisture_expected_pct": to_pct,
        "air": None if air is None else asdict(air),
        "shrinkage": asdict(share),
        "rule": {"id": governing.id, "applies_to": governing.applies_to, "source": str(governing.source)},
        **asdict(sheet),
    }


def _species_row(cabin: Cabin, species: UUID | None) -> dict[str, Any]:
    rows = Species.objects.filter(crew=cabin.crew_id)
    if species is None:
        used = SetLog.objects.filter(cabin=cabin, undone_at=None).values("log__species")
        found = list(rows.filter(id__in=used).values("id", *WOOD)[:2])
        if len(found) != 1:
            detail = "Say of which species the logs are; those set are of none or of several."
            raise InvalidQuery(errors=[fault("?species", detail, "required")])
        return dict(found[0])
    one = rows.filter(id=species).values("id", *WOOD).first()
    if one is None:
        raise InvalidQuery(errors=[fault("?species", "No such species in this crew.", "unknown")])
    return dict(one)


def _air(
    temperature_c: float | None, humidity_pct: float | None, expected_pct: float | None
) -> EquilibriumMoisture | None:
    if temperature_c is None and humidity_pct is None:
        return None
    if temperature_c is None or humidity_pct is None:
        missing = "temperature_c" if temperature_c is None else "humidity_pct"
        raise _wrong(missing, "Air has a temperature and a humidity.", "required")
    if expected_pct is not None:
        raise _wrong("moisture_expected_pct", "Give the moisture expected or the air, not both.", "twice")
    try:
        return equilibrium_moisture(temperature_c=temperature_c, humidity_pct=humidity_pct)
    except BadAir as bad:
        raise _wrong("humidity_pct", str(bad)) from bad


def _share(wood_row: dict[str, Any], now_pct: float | None, to_pct: float) -> ShrinkageShare:
    try:
        wood = wood_of_row(wood_row)
        faults = _moisture_faults(wood, now_pct, to_pct)
        if faults:
            raise InvalidQuery(errors=faults)
        return shrinkage_share(wood, from_moisture_pct=now_pct, to_moisture_pct=to_pct)
    except (BadWood, BadShrinkage) as bad:
        raise _wrong("species", str(bad)) from bad


def _moisture_faults(wood: Wood, now_pct: float | None, to_pct: float) -> list[Fault]:
    faults = []
    for name, moisture in (("moisture_now_pct", now_pct), ("moisture_expected_pct", to_pct)):
        try:
            if moisture is not None:
                check_moisture(wood, moisture_pct=moisture)
        except BadMoisture as bad:
            faults.append(fault(f"?{name}", str(bad)))
    return faults


def _local_code(low_pct: float | None, high_pct: float | None, title: str) -> AllowanceRule | None:
    if low_pct is None and high_pct is None and not title:
        return None
    if low_pct is None or high_pct is None:
        raise _wrong("code_low_pct" if low_pct is None else "code_high_pct", "The code's range has two ends.")
    try:
        return local_code_rule(low_percent=low_pct, high_percent=high_pct, title=title)
    except SettlingError as bad:
        raise _wrong("code_low_pct" if title else "code_title", str(bad)) from bad


def _wrong(name: str, detail: str, code: str = "invalid") -> InvalidQuery:
    return InvalidQuery(errors=[fault(f"?{name}", detail, code)])
