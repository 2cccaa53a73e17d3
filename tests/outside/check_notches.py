"""Notches against the old books' rules of thumb, and what remains at a notch against a geometry library."""

import math

from shapely.geometry import Polygon, box

from cabins.core.joints import cut_notch
from cabins.core.layout import NotchKind, read_layout
from cabins.core.stack import Stack, stack_up
from tests.outside.registry import Compared, against, against_percent, outside_check, rows_of, within

SIDES = 20_000


def even_wall(*, log_mm: float, gap_mm: float) -> Stack:
    """A plain rectangle of even logs."""
    corners = {"SW": (0, 0), "SE": (5000, 0), "NE": (5000, 4000), "NW": (0, 4000)}
    names = [*corners]
    document = {
        "corners": [{"id": name, "x_mm": x, "y_mm": y} for name, (x, y) in corners.items()],
        "walls": [
            {"id": wall, "from": names[n], "to": names[(n + 1) % 4], "start": ("low", "high")[n % 2]}
            for n, wall in enumerate("ABCD")
        ],
        "overhang_mm": 380,
        "notch": "saddle",
        "gap": {"smallest_mm": gap_mm, "target_mm": gap_mm, "largest_mm": gap_mm},
        "log_middle_mm": log_mm,
        "wall_height_mm": 2500,
    }
    return stack_up(read_layout(document), diameters_mm={})


def published(name: str) -> dict[str, str]:
    """One row of the rules of thumb."""
    return next(row for row in rows_of("notches.csv") if row["id"] == name)


@outside_check(
    what="Notch of even logs that touch: half the log below",
    source="USDA Misc. Pub. 579",
    mark="seen",
    unit="of diameter",
    limit=1e-9,
)
def notch_of_logs_that_touch() -> list[Compared]:
    """With no gap every notch of a wall of even logs is half a log deep."""
    theirs = float(published("mp579_divider_setting")["value"])
    return [
        against(f"{notch.crossing}, round {notch.round}, wall {notch.wall}", ours=notch.share, theirs=theirs)
        for notch in even_wall(log_mm=300, gap_mm=0).notches
    ]


@outside_check(
    what="Notch of even logs with gaps to chink, 6 to 25 mm: nearly half the log",
    source="Kephart, Camping and Woodcraft; Kreps, Woodcraft",
    mark="seen",
    unit="of diameter",
    limit=0.0,
)
def notch_of_chinked_logs() -> list[Compared]:
    """A gap to chink makes the notch a little shallower than half."""
    return [
        within(
            f"{name}, log {log_mm}, gap {gap_mm}",
            value=even_wall(log_mm=log_mm, gap_mm=gap_mm).notches[-1].share,
            low=float(published(name)["low"]),
            high=float(published(name)["high"]),
        )
        for name in ("kephart_round_notch_depth", "kreps_notch_depth")
        for log_mm, gap_mm in ((250, 6), (300, 13), (358, 13), (360, 25))
    ]


@outside_check(
    what="Logs of adjoining walls lie half a log apart",
    source="a building survey in a university library's collection, p. 69",
    mark="seen",
    unit="of log height",
    limit=1e-9,
)
def adjoining_walls() -> list[Compared]:
    """The high walls' tops lie half a round above the low walls' in every round."""
    theirs = float(published("half_log_offset")["value"])
    stack = even_wall(log_mm=300, gap_mm=0)
    return [
        against(
            f"{each.crossing}, round {each.round}", ours=(each.high_mm - each.low_mm) / 300, theirs=theirs
        )
        for each in stack.mismatches
    ]


@outside_check(
    what="Section that remains at a notch, and the width of its cut",
    source="shapely, a polygon of 20000 sides",
    mark="computed",
    unit="%",
    limit=0.01,
)
def what_remains_at_a_notch() -> list[Compared]:
    """A circle less what lies below the cut, and above it for the tail of a dovetail."""
    compared = []
    for depth_mm in (60.0, 120.0, 150.0, 200.0):
        circle = Polygon(
            [
                (150 * math.cos(2 * math.pi * n / SIDES), 150 * math.sin(2 * math.pi * n / SIDES))
                for n in range(SIDES)
            ]
        )
        sizes = {"depth_mm": depth_mm, "diameter_mm": 300, "crossing_diameter_mm": 300}
        saddle = cut_notch(kind=NotchKind.SADDLE, **sizes)
        tail = cut_notch(kind=NotchKind.HALF_DOVETAIL, depth_above_mm=100, **sizes)
        above = circle.intersection(box(-200, -150 + depth_mm, 200, 200))
        between = circle.intersection(box(-200, -150 + depth_mm / 2, 200, 150 - 50))
        lines = circle.intersection(box(-200, 150 - min(depth_mm, 150), 200, 200)).bounds
        for label, ours, theirs in (
            ("saddle, section", saddle.remains_area_share, above.area / circle.area),
            ("dovetail, section", tail.remains_area_share, between.area / circle.area),
            ("saddle, width", saddle.width_mm, lines[2] - lines[0]),
        ):
            compared.append(against_percent(f"{label}, {depth_mm:g} deep", ours=ours, theirs=theirs))
    return compared
