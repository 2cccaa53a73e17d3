"""Volumes against worked examples, stems measured at many heights, and general numerical libraries."""

import math
import random
from collections import defaultdict
from collections.abc import Callable
from itertools import pairwise

from scipy import integrate
from shapely.geometry import Point, box

from inventory.core.lifting import balance_point_mm
from inventory.core.measure import FT3_PER_M3
from inventory.core.profile import (
    LogProfile,
    diameter_mm_at,
    piece_crown_mm,
    profile_of,
    section_area_mm2_at,
)
from inventory.core.section import circle_between_planes_area_mm2
from inventory.core.tally_logs import FLARE_SHARE
from inventory.core.volume import (
    MM3_PER_M3,
    cone_frustum_mm3,
    huber_mm3,
    neiloid_frustum_mm3,
    newton_mm3,
    smalian_mm3,
    volume_mm3,
)
from tests.outside.registry import Compared, against, against_percent, outside_check, rows_of, within

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
    what="Errors of Smalian, Huber and Newton on measured stems, flared butt logs among them",
    source="stems of timbeR and dyntaper (MIT)",
    mark="computed",
    unit="points of %",
    limit=0.06,
)
def errors_on_stems() -> list[Compared]:
    """Each rule from ends and middle of a piece, against the sum of frustums through all diameters."""
    compared = []
    for row in rows_of("stem_errors.csv"):
        label = f"{row['stems']} {row['start']} to {row['end']} {row['of']}"
        for rule, error in stem_errors_pct(row).items():
            compared.append(against(f"{rule}, {label}", ours=error, theirs=float(row[f"{rule}_pct"])))
    return compared


def stem_errors_pct(row: dict[str, str]) -> dict[str, float]:
    """Error of the total volume of all stems of one row of stem_errors.csv, in percent, by rule."""
    total, fine = defaultdict(float), 0.0
    for height_m, stem in stems(row["stems"]).values():
        scale = (height_m if row["of"] == "height" else 1.0) * 1000
        start, end = float(row["start"]) * scale, float(row["end"]) * scale
        large, middle, small = (section_area_mm2_at(stem, at) for at in (start, (start + end) / 2, end))
        ends = {"small_mm2": small, "large_mm2": large, "length_mm": end - start}
        total["smalian"] += smalian_mm3(**ends)
        total["newton"] += newton_mm3(middle_mm2=middle, **ends)
        total["huber"] += huber_mm3(middle_mm2=middle, length_mm=end - start)
        fine += volume_mm3(stem, from_butt_mm=start, to_mm=end)
    return {rule: (mm3 / fine - 1) * 100 for rule, mm3 in total.items()}


@outside_check(
    what="Flare of butt logs of 4 to 8 m: middle below the mean of the ends, as a share of the taper",
    source="stems of timbeR and dyntaper (MIT)",
    mark="computed",
    unit="of the taper",
    limit=0.01,
)
def flare_of_butt_logs() -> list[Compared]:
    """The share that a tally's middle is taken by, against the mean over all such logs of a set of stems."""
    compared = []
    for file in STEMS:
        shares = [share for _, stem in stems(file).values() for share in _flares(stem)]
        mean = sum(shares) / len(shares)
        compared.append(against(file, ours=float(FLARE_SHARE), theirs=mean))
    return compared


def _flares(stem: LogProfile) -> list[float]:
    """Of every log from within a metre of the ground whose tip is 10 cm or more, ends a foot in."""
    found = []
    for start in (200.0, 700.0):
        for length in (4000.0, 6000.0, 8000.0):
            stations = (start + 305, start + length / 2, start + length - 305)
            if stations[-1] <= stem.length_mm:
                butt, middle, tip = (diameter_mm_at(stem, at) for at in stations)
                if tip >= 100:
                    found.append(((butt + tip) / 2 - middle) / (butt - tip))
    return found


@outside_check(
    what="Volume of stems, round logs and logs sawn on two faces, by quadrature",
    source="scipy.integrate.quad",
    mark="computed",
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
    source="scipy.integrate.quad",
    mark="computed",
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
    what="Wood of 31 felled black cherry trees: more than a neiloid, less than a paraboloid over their "
    "diameter at breast height",
    source="Ryan, Joiner and Ryan 1976, the `trees` set as rusty-machine (MIT) has it",
    mark="seen",
    unit="ft3",
    limit=0,
)
def trees_between_two_solids() -> list[Compared]:
    """The two solids by our own formulas, from nothing at the tip."""
    compared = []
    for row in rows_of("trees.csv"):
        base, height = circle_mm2(float(row["diameter_in"]) * 25.4), float(row["height_ft"]) * 304.8
        low, high = (
            formula(small_mm2=1e-6, large_mm2=base, length_mm=height) / MM3_PER_M3 * FT3_PER_M3
            for formula in (neiloid_frustum_mm3, smalian_mm3)
        )
        compared.append(within(f"tree {row['tree']}", value=float(row["volume_ft3"]), low=low, high=high))
    return compared


@outside_check(
    what="Crown left in half a log, by the exact circle",
    source="geometry of the circle",
    mark="computed",
    unit="in",
    limit=0.002,
)
def crown_of_half_a_log() -> list[Compared]:
    """4 in in 16 ft leaves 0.9987 in in 8 ft on the circle, one inch by the square."""
    ours = piece_crown_mm(crown_mm=4 * 25.4, log_mm=16 * 304.8, piece_mm=8 * 304.8) / 25.4
    row = next(row for row in rows_of("worked_examples.csv") if row["what"].startswith("crown"))
    return [against(row["what"], ours=ours, theirs=float(row["value"]))]


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
