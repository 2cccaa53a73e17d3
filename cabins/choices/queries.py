"""What a crew chose for settling and notches, and what a question makes of it."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from decimal import Decimal
from typing import Any

from cabins.choices.errors import ERROR_DEFAULTS, errors_used
from cabins.choices.models import WallSettings
from cabins.core.cutting import USUAL_CUTS, CutLimits
from cabins.core.joint_parts import JointSettings
from cabins.core.layout_parts import LEAST_PIECE_MM, RUN_WILD_MM
from cabins.core.openings import CUT_SHARE
from cabins.core.settling import BEDDING_DOWN
from cabins.core.settling_rules import RULES, USUAL_RULE, AllowanceRule, local_code_rule
from crews.accounts.crew_settings import Used, choices_answer, crew_choices, used_values
from crews.accounts.models import Crew
from inventory.core.crew_errors import LEAST_TOPS, USUAL_READING, WAYS_OF_READING
from inventory.core.moisture import SERVICE_MOISTURE_PCT

# None: no local code was given; the logs are green.
SETTLING_DEFAULTS: dict[str, Any] = {
    "rule": USUAL_RULE,
    "code_title": None,
    "code_low_pct": None,
    "code_high_pct": None,
    "bedding_low_pct": 100 * BEDDING_DOWN[0],
    "bedding_high_pct": 100 * BEDDING_DOWN[1],
    "moisture_now_pct": None,
    "moisture_expected_pct": SERVICE_MOISTURE_PCT,
}
_USUAL = JointSettings()
JOINT_DEFAULTS: dict[str, Any] = {
    "underscribe_mm": _USUAL.underscribe_mm,
    "overscribe_mm": _USUAL.overscribe_mm,
    "slope": _USUAL.slope,
    "back_slope": _USUAL.back_slope,
    "top_share": _USUAL.top_share,
}
# What a new layout takes where it does not say (common practice, no source).
OPENING_DEFAULTS: dict[str, Any] = {
    "cut_share": CUT_SHARE,
    "run_wild_mm": RUN_WILD_MM,
    "least_piece_mm": LEAST_PIECE_MM,
}
CUTTING_DEFAULTS: dict[str, Any] = asdict(USUAL_CUTS)
READING_DEFAULTS: dict[str, Any] = {"top_reading": USUAL_READING.value}
WALL_DEFAULTS = (
    SETTLING_DEFAULTS
    | JOINT_DEFAULTS
    | READING_DEFAULTS
    | ERROR_DEFAULTS
    | OPENING_DEFAULTS
    | CUTTING_DEFAULTS
)
# Who gives one of these gives them all.
CODE = ("code_title", "code_low_pct", "code_high_pct")
BEDDING = ("bedding_low_pct", "bedding_high_pct")


def wall_settings(crew: Crew) -> dict[str, Any]:
    """What counts for the crew's walls, what of it the crew chose, and the defaults."""
    return choices_answer(_chosen(crew), WALL_DEFAULTS)


def wall_settings_answer(crew: Crew) -> dict[str, Any]:
    """What WallSettingsOut describes: the settings, and the rules for settling to choose from."""
    chosen, used = _chosen(crew), errors_used(crew.id)
    rules = [rule_told(rule) for rule in RULES.values()]
    return {
        **choices_answer(chosen, WALL_DEFAULTS),
        **{name: getattr(used.errors, f"{name.removesuffix('_error_mm')}_mm") for name in ERROR_DEFAULTS},
        "measuring": {
            "chosen_by": used.chosen_by,
            "measured_tops": used.record.tops,
            "tops_read_again": used.repeats.readings,
            "tops_needed": LEAST_TOPS,
            "times_usual": used.record.times_usual,
            "words": used.words,
            "ways": [asdict(way) for way in WAYS_OF_READING.values()],
        },
        "settling_rules": rules,
    }


def rule_told(rule: AllowanceRule) -> dict[str, Any]:
    """What SettlingRuleOut describes."""
    return {"id": rule.id, "applies_to": rule.applies_to, "source": str(rule.source)}


def settling_used(crew: Crew, asked: Mapping[str, Any]) -> list[Used]:
    """What settling is reckoned with: as asked, else as the crew chose, else as usual; one query."""
    return used_values(asked, _chosen(crew), SETTLING_DEFAULTS, together=[CODE, BEDDING])


def layout_sizes(crew: Crew) -> dict[str, Any]:
    """What a new layout of the crew takes for its openings where it does not say; one query."""
    return values_of(used_values({}, _chosen(crew), OPENING_DEFAULTS))


def cut_limits(crew: Crew) -> CutLimits:
    """How the crew cuts its logs, on the wall and in plans; one query."""
    return CutLimits(**values_of(used_values({}, _chosen(crew), CUTTING_DEFAULTS)))


def settling_rule(crew: Crew) -> AllowanceRule:
    """The rule by which the crew leaves space over openings: its local code, else the one chosen; one
    query."""
    value = values_of(settling_used(crew, {}))
    title, low, high = (value[name] for name in CODE)
    if title and low is not None and high is not None:
        return local_code_rule(low_percent=low, high_percent=high, title=title)
    return RULES[value["rule"]]


def joints_used(crew: Crew, asked: Mapping[str, Any]) -> list[Used]:
    """How notches are cut: as asked, else as the crew chose, else as usual; one query."""
    return used_values(asked, _chosen(crew), JOINT_DEFAULTS)


def values_of(used: Sequence[Used]) -> dict[str, Any]:
    """The values that count, by name."""
    return {one.name: one.value for one in used}


def _chosen(crew: Crew) -> dict[str, Any]:
    chosen = crew_choices(WallSettings, crew, list(WALL_DEFAULTS))
    return {name: float(value) if isinstance(value, Decimal) else value for name, value in chosen.items()}
