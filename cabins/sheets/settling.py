"""A cabin's settling sheet: what a rule says to leave, and what drying and bedding down will do."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any
from uuid import UUID

from cabins.cabins.models import Cabin
from cabins.choices.queries import BEDDING, CODE, rule_told, settling_used, values_of
from cabins.core.settling import ShrinkageShare, check_bedding_down, shrinkage_share, widest_share
from cabins.core.settling_rules import RULES, AllowanceRule, SettlingError, local_code_rule
from cabins.core.settling_sheet import Post, post_beside_wall, settling_sheet
from cabins.core.stack import Stack
from cabins.set_logs.models import SetLog
from cabins.sheets.queries import CannotReckon
from cabins.walls.queries import wall_stack
from crews.api.problems import Fault, InvalidQuery, fault
from inventory.core.crew_units import Sentence, sentence_of
from inventory.core.moisture import (
    BadAir,
    BadShrinkage,
    EquilibriumMoisture,
    equilibrium_moisture,
)
from inventory.core.wood import BadMoisture, BadWood, check_moisture
from inventory.core.wood import SpeciesFigures as Wood
from inventory.logs.profiles import WOOD, wood_of_row
from inventory.yards.models import Species


def settling_answer(
    cabin: Cabin,
    *,
    species: UUID | None,
    temperature_c: float | None,
    humidity_pct: float | None,
    posts_mm: Sequence[float],
    posts_at: Sequence[tuple[str, float]],
    **asked: Any,
) -> dict[str, Any]:
    """Allowance and prediction side by side, per opening, post and round; six queries.

    `asked` are those of SETTLING_DEFAULTS; what is None there is as the crew chose, or as usual. Without
    `species` those of the logs set, from the least that one shrinks to the most. The expected moisture is
    given, or follows from the air. The local code, where given, governs. Posts are given by their height, or
    stand beside a wall. Raises NotLaidOut, InvalidQuery for what does not go together, CannotReckon.
    """
    stack = wall_stack(cabin)
    woods = _species_rows(cabin, species)
    air = _air(temperature_c, humidity_pct, asked["moisture_expected_pct"])
    if air is not None:
        asked["moisture_expected_pct"] = air.moisture_pct
    used = settling_used(cabin.crew, asked)
    value = values_of(used)
    drying = value["moisture_now_pct"], value["moisture_expected_pct"]
    share = widest_share([_share(wood, *drying) for wood in woods])
    chosen, code = RULES[value["rule"]], _local_code(*(value[name] for name in CODE))
    posts = _posts(stack, posts_mm, posts_at)
    bedding = _bedding(value)
    try:
        sheet = settling_sheet(
            stack, share=share, rule=chosen, local_code=code, posts=posts, bedding_down=bedding
        )
    except SettlingError as impossible:
        raise CannotReckon(
            Sentence("{why}; look at the heights that were measured.", why=impossible)
        ) from impossible
    return {
        "cabin": cabin.id,
        "species": [{"id": wood["id"], "name": wood["name"]} for wood in woods],
        "moisture_now_pct": value["moisture_now_pct"],
        "moisture_expected_pct": value["moisture_expected_pct"],
        "air": None if air is None else asdict(air),
        "shrinkage": asdict(share),
        "rule": rule_told(code or chosen),
        "used": [asdict(one) for one in used],
        **asdict(sheet),
    }


def _posts(stack: Stack, heights_mm: Sequence[float], at: Sequence[tuple[str, float]]) -> list[Post]:
    posts = [Post(id=f"post {number}", height_mm=high) for number, high in enumerate(heights_mm, start=1)]
    try:
        return posts + [post_beside_wall(stack, wall=wall, at_mm=at_mm) for wall, at_mm in at]
    except SettlingError as nowhere:
        raise _wrong("posts_at", sentence_of(nowhere), "unknown") from nowhere


def _bedding(value: Mapping[str, Any]) -> tuple[float, float]:
    low, high = (value[name] / 100 for name in BEDDING)
    try:
        check_bedding_down((low, high))
    except SettlingError as bad:
        raise _wrong("bedding_low_pct", sentence_of(bad)) from bad
    return low, high


def _species_rows(cabin: Cabin, species: UUID | None) -> list[dict[str, Any]]:
    """The species asked for, else every one that a log set is of."""
    rows = Species.objects.filter(crew=cabin.crew_id).order_by("name").values("id", *WOOD)
    if species is None:
        used = SetLog.objects.filter(cabin=cabin, undone_at=None).values("log__species")
        found = list(rows.filter(id__in=used))
        if not found:
            detail = "Say of which species the logs are; of those set none has one."
            raise InvalidQuery(errors=[fault("?species", detail, "required")])
        return [dict(row) for row in found]
    one = rows.filter(id=species).first()
    if one is None:
        raise InvalidQuery(errors=[fault("?species", "No such species in this crew.", "unknown")])
    return [dict(one)]


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
        raise _wrong("humidity_pct", sentence_of(bad)) from bad


def _share(wood_row: dict[str, Any], now_pct: float | None, to_pct: float) -> ShrinkageShare:
    try:
        wood = wood_of_row(wood_row)
        faults = _moisture_faults(wood, now_pct, to_pct)
        if faults:
            raise InvalidQuery(errors=faults)
        return shrinkage_share(wood, from_moisture_pct=now_pct, to_moisture_pct=to_pct)
    except (BadWood, BadShrinkage) as bad:
        raise _wrong("species", sentence_of(bad)) from bad


def _moisture_faults(wood: Wood, now_pct: float | None, to_pct: float) -> list[Fault]:
    faults = []
    for name, moisture in (("moisture_now_pct", now_pct), ("moisture_expected_pct", to_pct)):
        try:
            if moisture is not None:
                check_moisture(wood, moisture_pct=moisture)
        except BadMoisture as bad:
            faults.append(fault(f"?{name}", sentence_of(bad)))
    return faults


def _local_code(title: str | None, low_pct: float | None, high_pct: float | None) -> AllowanceRule | None:
    if low_pct is None and high_pct is None and not title:
        return None
    if low_pct is None or high_pct is None:
        raise _wrong("code_low_pct" if low_pct is None else "code_high_pct", "The code's range has two ends.")
    try:
        return local_code_rule(low_percent=low_pct, high_percent=high_pct, title=title or "")
    except SettlingError as bad:
        raise _wrong("code_low_pct" if title else "code_title", sentence_of(bad)) from bad


def _wrong(name: str, detail: str, code: str = "invalid") -> InvalidQuery:
    return InvalidQuery(errors=[fault(f"?{name}", detail, code)])
