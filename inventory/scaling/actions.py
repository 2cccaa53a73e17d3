"""A crew chooses how its logs are scaled."""

from datetime import datetime
from typing import Any

from crews.accounts.crew_settings import choose
from crews.accounts.models import Crew
from crews.api.problems import fault
from crews.api.reading import raise_if_any
from crews.api.versions import Expected
from inventory.scaling.models import ScalingSettings
from inventory.scaling.queries import SCALING_DEFAULTS, scaling_settings


def choose_scaling(*, crew: Crew, fields: dict[str, Any], expected: Expected | None, at: datetime) -> None:
    """Keep what the crew chose; None goes back to the default.

    Raises InvalidInput where the longest piece would be shorter than one step, VersionNeeded, VersionStale.
    """
    now = scaling_settings(crew)
    after = {
        name: SCALING_DEFAULTS[name] if fields.get(name, now[name]) is None else fields.get(name, now[name])
        for name in SCALING_DEFAULTS
    }
    if after["longest_ft"] < after["length_step_ft"]:
        raise_if_any([fault("/longest_ft", "The longest piece is not shorter than one step of length.")])
    choose(ScalingSettings, crew=crew, fields=fields, current=now, expected=expected, at=at)
