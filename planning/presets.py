"""The weights of a job: the usual ones, changed by what the job names."""

from collections.abc import Mapping
from dataclasses import replace

from planning.core.drawing_up import USUAL_PARAMS
from planning.core.problem import Params


def params_of(weights: Mapping[str, float]) -> Params:
    """The rules of a job whose weights differ from the usual ones by `weights`."""
    return replace(USUAL_PARAMS, weights=replace(USUAL_PARAMS.weights, **weights))
