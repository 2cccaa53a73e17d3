"""Volumes, balance and crown against worked examples and general numerical libraries."""

import math
import random
from collections import defaultdict
from collections.abc import Callable
from itertools import pairwise

from scipy import integrate, optimize
from shapely.geometry import Point, box

from inventory.core.lifting import balance_point_mm
from inventory.core.measure import FT3_PER_M3
from inventory.core.profile import (
    LogProfile,
    diameter_mm_at,
    piece_crown_mm,
    profile_of,
)
from inventory.core.section import circle_between_planes_area_mm2
from inventory.core.volume import (
    MM3_PER_M3,
    cone_frustum_mm3,
    neiloid_frustum_mm3,
    smalian_mm3,
    volume_mm3,
)
from tests.outside.registry import Compared, against, against_percent, outside_check, rows_of

FRUSTUM = {"smalian": smalian_mm3, "cone": cone_frustum_mm3, "neiloid": neiloid_frustum_mm3}
STEMS = ("stems_loblolly.csv", "stems_eucalyptus.csv")


def circle_mm2(diameter_mm: float) -> float:
    """Area of a circle, written out here anew."""
    return math.pi * diameter_mm**2 / 4


def stems(file: str) -> dict[str, tuple[float, LogProfile]]:
    """Total height in m and the profile of each measured stem, from its lowest diameter up."""
    heights, stations = {}, defaultdict(list)
    for row in rows_of(file):
        heights[row["tree"]] = float(row["height_m"])
        stations[row["tree"]].append((float(row["h_m"]) * 1000, float(row["d_cm"]) * 10))
    return {
        tree: (heights[tree], LogProfile(length_mm=found[-1][0], stations=tuple(found)))
        for tree, found in stations.items()
    }


def sawn_logs() -> list[LogProfile]:
    """Twenty logs of every taper, half of them sawn on two faces; made up, seeded."""
    draw = random.Random(3)
    return [
        profile_of(
            length_mm=draw.uniform(2500, 12_000),
            butt_mm=draw.uniform(330, 450),
            middle_mm=draw.uniform(290, 330),
            tip_mm=draw.uniform(200, 290),
            further=[(900.0, draw.uniform(300, 400))],
            sawn_thickness_mm=draw.uniform(120, 200) if index % 2 else None,
        )
        for index in range(20)
    ]


@outside_check(
    what="Smalian, cone and neiloid, worked examples",
    source="LarsenDR forestry functions",
    mark="seen",
    kind="worked",
    decides="price",
    unit="%",
    limit=0.01,
)
def worked_examples() -> list[Compared]:
    """Ends in inches and feet, and in centimetres and metres."""
    compared = []
    for row in rows_of("volume_examples.csv"):
        inches = row["unit"] == "in"
        across, along, per_m3 = (25.4, 304.8, FT3_PER_M3) if inches else (10.0, 1000.0, 1.0)
        mm3 = FRUSTUM[row["rule"]](
            small_mm2=circle_mm2(float(row["small"]) * across),
            large_mm2=circle_mm2(float(row["large"]) * across),
            length_mm=float(row["length"]) * along,
        )
        ours = mm3 / MM3_PER_M3 * per_m3
        compared.append(
            against_percent(f"{row['rule']} in {row['unit']}", ours=ours, theirs=float(row["volume"]))
        )
    return compared


@outside_check(
    what="Volume of stems, round logs and logs sawn on two faces, by quadrature",
    decides="price",
    source="scipy.integrate.quad",
    mark="computed",
    kind="library",
    unit="%",
    limit=1e-5,
)
def volume_by_quadrature() -> list[Compared]:
    """The section integrated by another's routine."""
    compared = []
    for label, log in _logs():
        theirs = _quadrature(log, lambda _: 1.0)
        compared.append(against_percent(label, ours=volume_mm3(log), theirs=theirs))
    return compared


@outside_check(
    what="Balance point of stems, round logs and logs sawn on two faces, by quadrature",
    decides="lift",
    source="scipy.integrate.quad",
    mark="computed",
    kind="library",
    unit="mm",
    limit=0.001,
)
def balance_by_quadrature() -> list[Compared]:
    """First moment over volume, by another's routine."""
    compared = []
    for label, log in _logs():
        theirs = _quadrature(log, lambda at: at) / _quadrature(log, lambda _: 1.0)
        compared.append(against(label, ours=balance_point_mm(log), theirs=theirs))
    return compared


@outside_check(
    what="Section of a log cut by two parallel planes",
    source="shapely, a circle of 16384 sides clipped by a box",
    mark="computed",
    kind="library",
    decides="price",
    unit="%",
    limit=0.01,
)
def sections_by_clipping() -> list[Compared]:
    """Symmetrical, off the heart, half logs and planes outside the log."""
    planes = [(-75, 75), (-100, 40), (0, 1000), (-1000, 1000), (120, 149), (-60, -20)]
    compared = []
    for diameter in (220.0, 300.0, 415.0):
        circle = Point(0, 0).buffer(diameter / 2, quad_segs=4096)
        for left, right in planes:
            theirs = circle.intersection(box(left, -1000, right, 1000)).area
            if theirs > 0:
                ours = circle_between_planes_area_mm2(diameter_mm=diameter, left_mm=left, right_mm=right)
                compared.append(
                    against_percent(f"{diameter:g} mm, {left} to {right}", ours=ours, theirs=theirs)
                )
    return compared


@outside_check(
    what="Crown left in a piece of a log, on the exact circle through the log's ends and its crown",
    source="scipy.optimize.brentq: the circle's radius from its chord and height",
    mark="computed",
    kind="library",
    unit="%",
    limit=0.7,
)
def crown_of_a_piece() -> list[Compared]:
    """Ours goes by the square of the length, which is the circle's first term."""
    compared = []
    for log_mm in (3000.0, 4800.0, 8000.0):
        for crown_mm in (15.0, 40.0, 100.0):
            radius = optimize.brentq(
                lambda r, c=crown_mm, half=log_mm / 2: r - math.sqrt(r * r - half * half) - c,
                log_mm / 2,
                1e8,
                xtol=1e-6,
            )
            for share in (0.25, 0.5, 0.8):
                half = share * log_mm / 2
                theirs = half * half / (radius + math.sqrt(radius**2 - half**2))
                ours = piece_crown_mm(crown_mm=crown_mm, log_mm=log_mm, piece_mm=share * log_mm)
                label = f"crown {crown_mm:g} in {log_mm:g}, {share:.0%} of the length"
                compared.append(against_percent(label, ours=ours, theirs=theirs))
    return compared


def _logs() -> list[tuple[str, LogProfile]]:
    measured = [(f"{file} {tree}", stem) for file in STEMS for tree, (_, stem) in stems(file).items()]
    return measured + [(f"log {index}", log) for index, log in enumerate(sawn_logs())]


def _quadrature(log: LogProfile, weight: Callable[[float], float]) -> float:
    """Integral of section times weight, the section reckoned from the angle its arcs take at the heart."""

    def section(at: float) -> float:
        height = diameter_mm_at(log, at)
        thickness = log.sawn_thickness_mm
        if thickness is None:
            return math.pi / 4 * height**2
        angle = 2 * math.atan2(thickness, height)
        radius2 = (height**2 + thickness**2) / 4
        return radius2 * angle + height * thickness / 2

    places = [0.0, *(at for at, _ in log.stations if 0 < at < log.length_mm), log.length_mm]
    return sum(
        integrate.quad(lambda at: section(at) * weight(at), a, b, epsabs=0, epsrel=1e-11)[0]
        for a, b in pairwise(places)
    )
