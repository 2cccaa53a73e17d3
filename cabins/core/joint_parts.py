"""What a notch is made of, as values: a crew's settings, the cut faces, and the cut as a whole."""

from dataclasses import dataclass
from enum import StrEnum

from cabins.core.layout_parts import NotchKind
from cabins.core.notching import NOTCH_LIMIT
from inventory.core.basis import Basis
from inventory.core.crew_units import Sentence


class JointError(ValueError):
    """Sizes or settings from which no notch can be cut."""


class Side(StrEnum):
    """Which face of the log is cut."""

    UNDERSIDE = "underside"
    TOP = "top"


@dataclass(frozen=True, slots=True, kw_only=True)
class JointSettings:
    """A crew's settings.

    `underscribe_mm`: notch cut so much deeper than the heights ask, so that a green wall bears on its grooves
    until it has dried. `overscribe_mm`: the same for the groove. `slope`: of a dovetail's seat towards the
    outside; `back_slope`: of a full dovetail's seat along the lower log, which locks it the other way.
    `top_share`: of a dovetail's depth, what is taken from the top of the lower log. `least_remaining`: share
    of the diameter, `least_area`: share of the section that should remain.
    """

    underscribe_mm: float = 0.0
    overscribe_mm: float = 0.0
    slope: float = 0.2
    back_slope: float = 0.1
    top_share: float = 0.5
    least_remaining: float = 0.375
    least_area: float = 1 / 3
    notch_limit: tuple[float, float] = NOTCH_LIMIT


def check_joint_settings(use: JointSettings) -> None:
    """Raises JointError for settings that no notch can be cut by."""
    if not (0 <= use.underscribe_mm <= 100 and 0 <= use.overscribe_mm <= 100):
        raise JointError(Sentence("underscribe and overscribe are amounts from 0 to {most:across}", most=100))
    if not (0 < use.slope <= 1 and 0 < use.back_slope <= 1 and 0 <= use.top_share < 1):
        raise JointError("a dovetail's slopes lie between 0 and 1, and so does the share of the lower log")


@dataclass(frozen=True, slots=True, kw_only=True)
class CutFace:
    """One cut face. `depth_mm` at its middle, `deepest_mm` and `shallowest_mm` at its edges.

    `slope_along`: fall towards the log's end; `slope_across`: fall towards the outside of its wall. Negative:
    it rises that way.
    """

    side: Side
    depth_mm: float
    deepest_mm: float
    shallowest_mm: float
    slope_along: float
    slope_across: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NotchCut:
    """How one log is cut at one crossing.

    `depth_mm`: what the heights ask for over the log below; `depth_above_mm`: the same for the next log over
    this one. `remains_mm`: wood left at the middle, `thinnest_mm`: at the thinnest edge. `packing_mm`: what
    must be put under a log that its crossing log does not reach. `clearance_mm`: what underscribing leaves
    open. `scriber_mm`: the setting for the notch, None where there is none. `width_mm`: of the cut, along the
    log. A groove's setting is not the corner's: see `cabins.core.scribing`.
    """

    kind: NotchKind
    diameter_mm: float
    depth_mm: float
    depth_above_mm: float
    faces: tuple[CutFace, ...]
    remains_mm: float
    thinnest_mm: float
    remains_area_share: float
    packing_mm: float
    clearance_mm: float
    width_mm: float
    scriber_mm: float | None
    drains_outward: bool
    warnings: tuple[str, ...]
    basis: Basis
    uncertainty: str
    cautions: tuple[str, ...]


def is_dovetail(kind: NotchKind) -> bool:
    """Whether a notch of this kind is cut into both the lower and the upper log."""
    return kind in (NotchKind.HALF_DOVETAIL, NotchKind.FULL_DOVETAIL)
