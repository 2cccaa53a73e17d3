"""Areas across a log that a saw has opened: a circle cut by two parallel planes."""

import math

from inventory.core.crew_units import Sentence


class BadSection(ValueError):
    """This cannot be the cross-section of a log."""


def round_diameter_mm(*, face_height_mm: float, thickness_mm: float) -> float:
    """Diameter of the log that gives such faces when sawn to this thickness, its heart in the middle."""
    if not (0 <= face_height_mm < math.inf and 0 <= thickness_mm < math.inf):
        raise BadSection(
            Sentence(
                "faces {high:across} high and {apart:across} apart are none",
                high=face_height_mm,
                apart=thickness_mm,
            )
        )
    return math.hypot(face_height_mm, thickness_mm)


def face_height_mm(*, diameter_mm: float, thickness_mm: float) -> float:
    """Height of the faces when a log is sawn to this thickness. Raises BadSection: thicker than the log."""
    if not 0 <= thickness_mm < diameter_mm < math.inf:
        raise BadSection(
            Sentence(
                "a log of {thick:across} has no faces {apart:across} apart",
                thick=diameter_mm,
                apart=thickness_mm,
            )
        )
    return math.sqrt((diameter_mm - thickness_mm) * (diameter_mm + thickness_mm))


def circle_between_planes_area_mm2(*, diameter_mm: float, left_mm: float, right_mm: float) -> float:
    """Area of a circle between two parallel planes at `left_mm` and `right_mm` from its centre, in mm2.

    Planes outside the circle cut nothing. A log ripped through the heart lies between 0 and its radius.
    From the area under a circle, x sqrt(r^2 - x^2) + r^2 asin(x / r). Raises BadSection.
    """
    if not all(math.isfinite(n) for n in (diameter_mm, left_mm, right_mm)) or diameter_mm <= 0:
        raise BadSection("the diameter is a length greater than nothing, and the planes are numbers")
    if left_mm > right_mm:
        raise BadSection(
            Sentence(
                "the left plane at {left:across} lies right of the right one at {right:across}",
                left=left_mm,
                right=right_mm,
            )
        )
    radius = diameter_mm / 2

    def area_up_to(x: float) -> float:
        x = min(max(x, -radius), radius)
        return x * math.sqrt((radius - x) * (radius + x)) + radius * radius * math.asin(x / radius)

    return area_up_to(right_mm) - area_up_to(left_mm)
