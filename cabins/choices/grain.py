"""The rules of spiral grain as a crew has switched them, and what they say of a log in a place."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from cabins.choices.models import GrainSettings
from cabins.core.grain import RULES, Grain, GrainBands, GrainVerdict, GrainWeight, judge_grain
from cabins.core.grain_places import grain_place
from cabins.core.places import WallPlace
from cabins.core.sources import ILBA_SEEN
from cabins.core.stack import Stack
from crews.accounts.crew_settings import crew_choices
from crews.accounts.models import Crew
from inventory.core.chart_line import GrainHand

BAND_DEFAULTS = {"straight_run": GrainBands().straight_run, "moderate_run": GrainBands().moderate_run}
_NAMES = ["weights", *BAND_DEFAULTS]


@dataclass(frozen=True, slots=True, kw_only=True)
class GrainJudge:
    """The rules of grain under a crew's own weights and bands."""

    switched: Mapping[str, GrainWeight]
    bands: GrainBands

    def judge(self, stack: Stack, place: WallPlace, log: Mapping[str, Any]) -> GrainVerdict:
        """What the rules say of a log, by its `grain_hand` and `grain_slope`, in a place of the wall."""
        hand, slope = log["grain_hand"], log["grain_slope"]
        grain = Grain(
            hand=None if hand is None else GrainHand(hand), run=None if slope is None else float(slope)
        )
        return judge_grain(grain, grain_place(stack, place), switched=self.switched, bands=self.bands)


def grain_chosen(crew: Crew) -> dict[str, Any]:
    """What the crew itself switched and set; one query."""
    chosen = crew_choices(GrainSettings, crew, _NAMES)
    return {**chosen, "weights": chosen["weights"] or {}}


def grain_judge(crew: Crew) -> GrainJudge:
    """The rules as the crew has them; one query."""
    chosen = grain_chosen(crew)
    return GrainJudge(
        switched={name: GrainWeight(weight) for name, weight in chosen["weights"].items()},
        bands=GrainBands(**{name: float(chosen[name] or usual) for name, usual in BAND_DEFAULTS.items()}),
    )


def grain_rules(crew: Crew) -> dict[str, Any]:
    """What GrainRulesOut describes."""
    chosen = grain_chosen(crew)
    return {
        "rules": [
            {
                "id": rule.id,
                "text": rule.text,
                "source": rule.source.title,
                "mark": rule.source.mark,
                "weight": chosen["weights"].get(rule.id, rule.weight),
                "default_weight": rule.weight,
                "is_chosen": rule.id in chosen["weights"],
            }
            for rule in RULES.values()
        ],
        **{name: usual if chosen[name] is None else chosen[name] for name, usual in BAND_DEFAULTS.items()},
        "bands_source": str(ILBA_SEEN),
        "bands_assumption": "which hand each band belongs to was lost in the copy read: both are held alike",
        "version": chosen["version"],
    }
