"""The cut of a notch: what each kind takes from the log, what remains, and what to beware of.

A notch's depth is what the wall's heights leave between the top of the crossing log and the underside the
upper log is to have. A saddle and a lap take all of it from the underside of the upper log; a dovetail takes
part of it from the top of the lower one. Lengths in mm, slopes as rise over run.
"""

import math

from cabins.core.joint_parts import (
    CutFace,
    JointError,
    JointSettings,
    NotchCut,
    Side,
    check_joint_settings,
    is_dovetail,
)
from cabins.core.joint_warnings import CAUTION_STRUCTURE, CAUTION_WET_SEAT, depth_warnings, remaining_warnings
from cabins.core.layout_parts import NotchKind
from cabins.core.sources import MP579, PRACTICE
from inventory.core.basis import Basis
from inventory.core.crew_units import Sentence
from inventory.core.section import circle_between_planes_area_mm2

READ_TO = Sentence(
    "depths follow heights read to {top_low:error} to {top_high:error} and diameters to {low:error} to "
    "{high:error}: scribe on the wall and cut to the line",
    top_low=2,
    top_high=3,
    low=3,
    high=6,
)


def top_cut_mm(*, kind: NotchKind, depth_above_mm: float, settings: JointSettings) -> float:
    """What a notch of the next log over this one takes from this log's top, at the middle."""
    return settings.top_share * max(0.0, depth_above_mm) if is_dovetail(kind) else 0.0


def cut_notch(
    *,
    kind: NotchKind,
    depth_mm: float,
    diameter_mm: float,
    crossing_diameter_mm: float,
    depth_above_mm: float = 0.0,
    thickness_mm: float | None = None,
    is_on_deck: bool = False,
    settings: JointSettings | None = None,
) -> NotchCut:
    """How to cut one log over another, or over the deck, where it only gets a level flat or packing.

    `depth_mm` from the wall's heights (negative: the crossing log does not reach); `depth_above_mm`, for a
    dovetail, is the depth of the next log's notch over this one. `thickness_mm`: of logs hewn or sawn on two
    faces, both alike; None: round logs. Raises JointError.
    """
    use = settings or JointSettings()
    _check(depth_mm, diameter_mm, crossing_diameter_mm, depth_above_mm, thickness_mm, use)
    is_sloped = is_dovetail(kind) and not is_on_deck
    top = top_cut_mm(kind=kind, depth_above_mm=depth_above_mm, settings=use)
    below = max(0.0, depth_mm) * (1 - use.top_share if is_sloped else 1.0)
    clearance = use.underscribe_mm if depth_mm > 0 and not is_on_deck else 0.0
    bottom = below + clearance
    width = thickness_mm or (crossing_diameter_mm if is_sloped else _chord_mm(crossing_diameter_mm, below))
    across = thickness_mm or diameter_mm
    faces = _faces(kind, bottom=bottom, top=top, along=width, across=across, is_level=not is_sloped, use=use)
    remains = diameter_mm - bottom - top
    # Both faces are deepest in the same corner of the joint: inside along the log, outside across it.
    thinnest = remains - sum(face.deepest_mm - face.depth_mm for face in faces)
    area = _area_share(diameter_mm, thickness_mm, bottom=bottom, top=top)
    drains = is_on_deck or _drains_outward(kind, use)
    return NotchCut(
        kind=kind,
        diameter_mm=diameter_mm,
        depth_mm=depth_mm,
        depth_above_mm=depth_above_mm,
        faces=faces,
        remains_mm=remains,
        thinnest_mm=thinnest,
        remains_area_share=area,
        packing_mm=max(0.0, -depth_mm),
        clearance_mm=clearance,
        width_mm=width,
        scriber_mm=bottom if depth_mm > 0 and not is_on_deck else None,
        drains_outward=drains,
        warnings=depth_warnings(depth_mm, diameter_mm, use) * (not is_on_deck)
        + remaining_warnings(faces, diameter_mm, thinnest, area, use),
        basis=_basis(kind, thickness_mm),
        uncertainty=READ_TO,
        cautions=(CAUTION_STRUCTURE,) if drains else (CAUTION_STRUCTURE, CAUTION_WET_SEAT),
    )


def _check(
    depth_mm: float,
    diameter_mm: float,
    crossing_diameter_mm: float,
    depth_above_mm: float,
    thickness_mm: float | None,
    use: JointSettings,
) -> None:
    sizes = (diameter_mm, crossing_diameter_mm, diameter_mm if thickness_mm is None else thickness_mm)
    if not all(math.isfinite(size) and size > 0 for size in sizes):
        raise JointError(
            Sentence(
                "logs of {one:across} and {other:across}, {thick:across} thick, are none",
                one=diameter_mm,
                other=crossing_diameter_mm,
                thick=diameter_mm if thickness_mm is None else thickness_mm,
            )
        )
    if not all(math.isfinite(number) for number in (depth_mm, depth_above_mm)):
        raise JointError("a depth is a number")
    check_joint_settings(use)


def _drains_outward(kind: NotchKind, use: JointSettings) -> bool:
    # A saddle is cut in the underside only, over a round log. Water on a full dovetail's seat leaves by the
    # outer face only if the seat falls more to that side than along the lower log.
    if kind is NotchKind.FULL_DOVETAIL:
        return use.back_slope <= use.slope
    return kind is not NotchKind.LAP


def _chord_mm(diameter_mm: float, depth_mm: float) -> float:
    """Width of a round log at `depth_mm` below its top; its full width from half way down."""
    down = min(max(depth_mm, 0.0), diameter_mm / 2)
    return 2 * math.sqrt(down * (diameter_mm - down))


def _faces(
    kind: NotchKind,
    *,
    bottom: float,
    top: float,
    along: float,
    across: float,
    is_level: bool,
    use: JointSettings,
) -> tuple[CutFace, ...]:
    """The faces of a cut that is `along` long on the log, which is `across` thick.

    A dovetail's seat falls to the outside of the lower wall, which is along the upper log, so that its tail
    is thickest at its end. A full dovetail's seat also rises to the outside of the upper wall.
    """
    slope = 0.0 if is_level else use.slope
    back = use.back_slope if kind is NotchKind.FULL_DOVETAIL else 0.0
    faces = []
    if bottom > 0:
        faces.append(_face(Side.UNDERSIDE, bottom, slope, 0.0 if is_level else -back, along, across))
    if top > 0:
        faces.append(_face(Side.TOP, top, -back, use.slope, along, across))
    return tuple(faces)


def _face(
    side: Side, depth: float, slope_along: float, slope_across: float, along: float, across: float
) -> CutFace:
    swing = (abs(slope_along) * along + abs(slope_across) * across) / 2
    return CutFace(
        side=side,
        depth_mm=depth,
        deepest_mm=depth + swing,
        shallowest_mm=depth - swing,
        slope_along=slope_along,
        slope_across=slope_across,
    )


def _area_share(diameter_mm: float, thickness_mm: float | None, *, bottom: float, top: float) -> float:
    """Share of the section that the cuts leave: of a circle, or of a hewn log's upright rectangle."""
    remains = diameter_mm - bottom - top
    if remains <= 0:
        return 0.0
    if thickness_mm is not None:
        return remains / diameter_mm
    radius = diameter_mm / 2
    left = circle_between_planes_area_mm2(
        diameter_mm=diameter_mm, left_mm=bottom - radius, right_mm=radius - top
    )
    return left / (math.pi * radius * radius)


def _basis(kind: NotchKind, thickness_mm: float | None) -> Basis:
    cut = "both logs, the seat sloped" if is_dovetail(kind) else "the underside of the upper log only"
    return Basis(
        rule=f"depth from the wall's heights, cut into {cut}",
        source=f"slopes and limits: {PRACTICE}"
        if is_dovetail(kind)
        else f"{MP579}, for cutting the underside only; limits: {PRACTICE}",
        assumption="round logs" if thickness_mm is None else "logs hewn on two faces, all of one thickness",
    )
