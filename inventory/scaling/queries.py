"""How a crew scales its logs, and what a question makes of it."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from crews.accounts.crew_settings import Used, choices_answer, crew_choices, used_values
from crews.accounts.models import Crew
from inventory.core.board_feet import Scaling
from inventory.core.log_rules import OddFeet
from inventory.scaling.models import ScalingSettings

SCALING_DEFAULTS: dict[str, Any] = {**asdict(Scaling()), "odd_feet": str(Scaling().odd_feet)}


def scaling_settings(crew: Crew) -> dict[str, Any]:
    """What ScalingSettingsOut describes."""
    return choices_answer(_chosen(crew), SCALING_DEFAULTS)


def scaling_used(crew: Crew, asked: Mapping[str, Any]) -> list[Used]:
    """How to scale: as asked, else as the crew chose, else as usual; one query."""
    return used_values(asked, _chosen(crew), SCALING_DEFAULTS)


def scaling_of(used: Sequence[Used]) -> Scaling:
    """The core's scaling from the values that count."""
    value = {one.name: one.value for one in used}
    return Scaling(
        trim_mm=float(value["trim_mm"]),
        length_step_ft=value["length_step_ft"],
        longest_ft=value["longest_ft"],
        odd_feet=OddFeet(value["odd_feet"]),
    )


def used_rows(used: Sequence[Used]) -> list[dict[str, Any]]:
    """What UsedOut describes."""
    return [asdict(one) for one in used]


def _chosen(crew: Crew) -> dict[str, Any]:
    return crew_choices(ScalingSettings, crew, list(SCALING_DEFAULTS))
