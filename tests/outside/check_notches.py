"""Notches and heights of uneven logs against a geometry library, and the old books' rules of thumb."""

import math
import random
from collections.abc import Mapping

from shapely.affinity import translate
from shapely.geometry import Point, Polygon, box

from cabins.core.joints import cut_notch
from cabins.core.layout import NotchKind, read_layout
from cabins.core.stack import Spot, Stack, stack_up
from tests.outside.registry import Compared, against, against_percent, outside_check, rows_of, within

SIDES = 20_000
FAR = 10_000.0


def a_wall(*, log_mm: float, gap_mm: float, diameters_mm: Mapping[Spot, float] | None = None) -> Stack:
    """A plain rectangle, of even logs where no diameters are given."""
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
    return stack_up(read_layout(document), diameters_mm=diameters_mm or {})


def uneven_wall(gap_mm: float) -> Stack:
    """Logs that differ and taper, made up and seeded. Negative gap: scribed."""
    draw = random.Random(11)
    rounds = a_wall(log_mm=300, gap_mm=gap_mm).layout.round_count
    return a_wall(
        log_mm=300,
        gap_mm=gap_mm,
        diameters_mm={
            (wall, number, end): draw.uniform(280, 320)
            for wall in "ABCD"
            for number in range(1, rounds + 1)
            for end in (0, 1)
        },
    )


def sections(stack: Stack, gap_mm: float) -> dict[Spot, Polygon]:
    """Every log's section at every corner as a library's circle, laid on the one below it at the gap."""
    lying = {}
    for (wall, number, end), diameter in sorted(stack.diameters_mm.items(), key=lambda spot: spot[0][1]):
        below = lying.get((wall, number - 1, end))
        # Round 0 is the deck, or what a high wall starts on.
        top = stack.heights_mm[wall, 0, end] if below is None else below.bounds[3]
        circle = Point(0, 0).buffer(diameter / 2)
        lying[wall, number, end] = translate(circle, yoff=top + gap_mm - circle.bounds[1])
    return lying


def published(name: str) -> dict[str, str]:
    """One row of the rules of thumb."""
    return next(row for row in rows_of("notches.csv") if row["id"] == name)


@outside_check(
    what="Tops of uneven, tapering logs laid on one another, with gaps of 13, 0 and -20 mm",
    source="shapely: circles laid one on the other, their bounds",
    mark="computed",
    kind="library",
    unit="%",
    limit=0.01,
)
def tops_of_uneven_logs() -> list[Compared]:
    """Every corner of every round."""
    compared = []
    for gap in (13.0, 0.0, -20.0):
        stack = uneven_wall(gap)
        for spot, section in sections(stack, gap).items():
            label = f"wall {spot[0]}, round {spot[1]}, end {spot[2]}, gap {gap:g}"
            compared.append(
                against_percent(label, ours=stack.heights_mm[spot], theirs=section.bounds[3]),
            )
    return compared


@outside_check(
    what="Depth of the notch that lets an uneven log down over its crossing one, gaps of 13, 0 and -20 mm",
    source="shapely: what of the upper circle lies below the top of the lower one",
    mark="computed",
    kind="library",
    unit="%",
    limit=0.01,
)
def notches_of_uneven_logs() -> list[Compared]:
    """The height of the part that must go."""
    compared = []
    for gap in (13.0, 0.0, -20.0):
        stack = uneven_wall(gap)
        lying = sections(stack, gap)
        ends = {(one.wall, one.crossing): one.column for one in stack.notches}
        for notch in stack.notches:
            under = lying[notch.over_wall, notch.over_round, ends[notch.over_wall, notch.crossing]]
            upper = lying[notch.wall, notch.round, notch.column]
            cut = upper.intersection(box(-FAR, -FAR, FAR, under.bounds[3])).bounds
            label = f"{notch.crossing}, round {notch.round}, wall {notch.wall}, gap {gap:g}"
            compared.append(against_percent(label, ours=notch.depth_mm, theirs=cut[3] - cut[1]))
    return compared


@outside_check(
    what="Section that remains at a notch, and the width of its cut",
    source="shapely, a polygon of 20000 sides",
    mark="computed",
    kind="library",
    unit="%",
    limit=0.01,
)
def what_remains_at_a_notch() -> list[Compared]:
    """A circle less what lies below the cut, and above it for the tail of a dovetail."""
    circle = Polygon(
        [
            (150 * math.cos(2 * math.pi * n / SIDES), 150 * math.sin(2 * math.pi * n / SIDES))
            for n in range(SIDES)
        ]
    )
    compared = []
    for depth_mm in (60.0, 120.0, 150.0, 200.0):
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


@outside_check(
    what="Notch of even logs that touch: half the log below; half a log between adjoining walls. Both true "
    "by the model's own definition",
    source="USDA Misc. Pub. 579; a building survey in a university library's collection, p. 69",
    mark="seen",
    kind="same formula",
    unit="of diameter",
    limit=1e-9,
)
def halves_of_even_logs() -> list[Compared]:
    """One notch and one corner: every other one of even logs is the same number again."""
    stack = a_wall(log_mm=300, gap_mm=0)
    notch, corner = stack.notches[-1], stack.mismatches[-1]
    return [
        against("notch", ours=notch.share, theirs=float(published("mp579_divider_setting")["value"])),
        against(
            "adjoining walls",
            ours=(corner.high_mm - corner.low_mm) / 300,
            theirs=float(published("half_log_offset")["value"]),
        ),
    ]


@outside_check(
    what="Notch of even logs with gaps to chink, 6 to 25 mm: nearly half the log, taken as 0.45 to 0.5",
    source="Kephart, Camping and Woodcraft; Kreps, Woodcraft",
    mark="seen",
    kind="same formula",
    unit="of diameter",
    limit=0.0,
)
def notch_of_chinked_logs() -> list[Compared]:
    """A gap to chink makes the notch a little shallower than half."""
    return [
        within(
            f"{name}, log {log_mm}, gap {gap_mm}",
            ours=a_wall(log_mm=log_mm, gap_mm=gap_mm).notches[-1].share,
            low=float(published(name)["low"]),
            high=float(published(name)["high"]),
        )
        for name in ("kephart_round_notch_depth", "kreps_notch_depth")
        for log_mm, gap_mm in ((250, 6), (300, 13), (358, 13), (360, 25))
    ]
