"""The weights of a job: a named set, changed by what the job names."""

from collections.abc import Mapping
from dataclasses import asdict, replace
from typing import Any

from cabins.core.cutting import CutLimits
from planning.core.problem import Params
from planning.core.problem_builder import USUAL_PARAMS
from planning.core.weights import MEANING, PRESETS

PRESET_NAMES = [(preset.name, preset.name) for preset in PRESETS]
_BY_NAME = {preset.name: preset for preset in PRESETS}


def params_of(preset: str, weights: Mapping[str, float], cuts: CutLimits) -> Params:
    """The rules of a job with a named set of weights, changed by `weights`, and the crew's limits of
    cutting."""
    return replace(
        USUAL_PARAMS,
        weights=replace(_BY_NAME[preset].weights, **weights),
        trim_each_end_mm=cuts.trim_each_end_mm,
        kerf_mm=cuts.kerf_mm,
        hazard_clear_mm=cuts.hazard_clear_mm,
        max_pieces_per_log=cuts.most_pieces,
    )


def presets() -> dict[str, Any]:
    """Every named set with what it is for, and what each weight means."""
    return {
        "presets": [
            {"name": preset.name, "meaning": preset.meaning, "weights": asdict(preset.weights)}
            for preset in PRESETS
        ],
        "meaning": MEANING,
    }
