"""A crew chooses its rule for settling, how its notches are cut, and what it makes of grain."""

from datetime import datetime
from decimal import Decimal
from typing import Any

from cabins.choices.grain import BAND_DEFAULTS, grain_chosen, grain_rules
from cabins.choices.models import GrainSettings, WallSettings
from cabins.choices.queries import (
    BEDDING,
    CODE,
    JOINT_DEFAULTS,
    WALL_DEFAULTS,
    wall_settings,
    wall_settings_answer,
)
from cabins.core.grain import RULES, GrainWeight
from cabins.core.joint_parts import JointError, JointSettings, check_joint_settings
from cabins.core.settling import check_bedding_down
from cabins.core.settling_rules import SettlingError, local_code_rule
from crews.accounts.crew_settings import choose
from crews.accounts.models import Crew
from crews.api.problems import Fault, fault
from crews.api.reading import raise_if_any
from crews.api.versions import Expected
from inventory.core.crew_units import sentence_of


def choose_wall_settings(
    *, crew: Crew, fields: dict[str, Any], expected: Expected | None, at: datetime
) -> None:
    """Keep what the crew chose for settling and notches; None goes back to the default.

    Raises InvalidInput for what does not go together, VersionNeeded, VersionStale.
    """
    now = wall_settings(crew)
    after = {
        name: default if (value := fields.get(name, now[name])) is None else _plain(value)
        for name, default in WALL_DEFAULTS.items()
    }
    raise_if_any([*_code_faults(after), *_bedding_faults(after), *_joint_faults(after)])
    choose(
        WallSettings, crew=crew, fields=fields, current=wall_settings_answer(crew), expected=expected, at=at
    )


def _plain(value: Any) -> Any:
    return float(value) if isinstance(value, Decimal) else value


def _code_faults(after: dict[str, Any]) -> list[Fault]:
    title, low, high = (after[name] for name in CODE)
    given = [name for name in CODE if after[name] is not None]
    if not given:
        return []
    missing = [fault(f"/{name}", "A local code has its name and both ends of its range.", "required")
               for name in CODE if name not in given]  # fmt: skip
    if missing:
        return missing
    try:
        local_code_rule(low_percent=low, high_percent=high, title=title)
    except SettlingError as bad:
        return [fault("/code_low_pct" if title.strip() else "/code_title", sentence_of(bad))]
    return []


def _bedding_faults(after: dict[str, Any]) -> list[Fault]:
    low, high = (after[name] / 100 for name in BEDDING)
    try:
        check_bedding_down((low, high))
    except SettlingError as bad:
        return [fault("/bedding_low_pct", sentence_of(bad))]
    return []


def _joint_faults(after: dict[str, Any]) -> list[Fault]:
    try:
        check_joint_settings(JointSettings(**{name: after[name] for name in JOINT_DEFAULTS}))
    except JointError as bad:
        return [fault("", sentence_of(bad), "no_notch")]
    return []


def switch_grain_rules(
    *, crew: Crew, fields: dict[str, Any], expected: Expected | None, at: datetime
) -> None:
    """Keep what the crew makes of the rules of grain; a rule with None, and a band, go back to the default.

    Rules that `weights` does not name stay as they are. Raises InvalidInput, VersionNeeded, VersionStale.
    """
    held = grain_chosen(crew)
    weights = {**held["weights"], **fields.get("weights", {})}
    unknown = [fault(f"/weights/{name}", "There is no such rule of grain.", "unknown")
               for name in weights if name not in RULES]  # fmt: skip
    raise_if_any([*unknown, *_band_faults(held | fields)])
    kept = {name: str(GrainWeight(weight)) for name, weight in weights.items() if weight is not None}
    changed = {**fields, "weights": kept} if "weights" in fields else fields
    choose(
        GrainSettings,
        crew=crew,
        fields=changed,
        current=grain_rules(crew),
        expected=expected,
        at=at,
    )


def _band_faults(after: dict[str, Any]) -> list[Fault]:
    straight, moderate = (
        usual if after[name] is None else after[name] for name, usual in BAND_DEFAULTS.items()
    )
    if moderate > straight:
        return [fault("/moderate_run", "Straight grain has the longer run.", "bands_crossed")]
    return []
