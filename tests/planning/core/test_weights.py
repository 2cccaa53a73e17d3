"""Named weights: each explained, and each does what it says."""

from planning.core.check import judge
from planning.core.problem import WEIGHT_NAMES
from planning.core.weights import MEANING, PRESETS, USUAL, trade_offs
from tests.planning.core_problems import shared_problem
from tests.tools.planner.baseline import careful_plan


def test_every_weight_has_a_meaning_and_every_preset_a_name_of_its_own():
    assert set(MEANING) == set(WEIGHT_NAMES)
    assert len({preset.name for preset in PRESETS}) == len(PRESETS)


def test_the_trade_off_shows_level_against_waste():
    problem = shared_problem("S-1")
    careful = judge(problem, careful_plan(problem), weights=USUAL).objective

    rows = {row.preset: row for row in trade_offs(problem, moves=3_000_000, seed=2)}

    assert set(rows) == {preset.name for preset in PRESETS}
    assert all(row.feasible for row in rows.values())
    assert rows["thrifty"].waste_pct < rows["level"].waste_pct
    assert rows["level"].mean_corner_mm < rows["thrifty"].mean_corner_mm
    # Whatever a preset prefers, by the usual weights it stays far below the careful builder's plan.
    assert all(row.usual_objective < 0.75 * careful for row in rows.values())
