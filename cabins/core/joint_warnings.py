"""What to beware of at a notch: too shallow or deep, too little wood left."""

from cabins.core.joint_parts import CutFace, JointSettings
from cabins.core.notching import NotchState, notch_state
from cabins.core.sources import ILBA_MEMORY, PRACTICE
from inventory.core.crew_units import Sentence

CAUTION_STRUCTURE = (
    "A thin notch can split or shear under the wall and roof above it; what must remain is decided by local "
    "code and licensed practice."
)


CAUTION_WET_SEAT = (
    "The seat does not drain outward and holds water: keep the corner dry under the roof, or slope the seat."
)


def depth_warnings(depth_mm: float, diameter_mm: float, use: JointSettings) -> tuple[str, ...]:
    """Whether a notch of this depth can be cut at all, and within its limit."""
    if depth_mm <= 0:
        return ("The crossing log does not reach this log: nothing to notch over, it must be packed.",)
    state = notch_state(depth_mm=depth_mm, diameter_mm=diameter_mm, notch_limit=use.notch_limit)
    if state is not NotchState.BEYOND:
        return ()
    low, high = use.notch_limit
    return (
        f"The notch takes {depth_mm / diameter_mm:.2f} of the log; {low:g} to {high:g} is allowed "
        f"({PRACTICE.mark.value}).",
    )


def remaining_warnings(
    faces: tuple[CutFace, ...],
    diameter_mm: float,
    thinnest_mm: float,
    area_share: float,
    use: JointSettings,
) -> tuple[str, ...]:
    """Whether enough wood remains, and the slopes stay in it."""
    found: list[str] = []
    if thinnest_mm <= 0:
        found.append("Nothing would remain of the log at this crossing.")
    elif thinnest_mm < use.least_remaining * diameter_mm:
        found.append(
            Sentence(
                "Only {thinnest:across} would remain at the thinnest edge; {share:g} of the diameter should "
                "({source}).",
                thinnest=thinnest_mm,
                share=use.least_remaining,
                source=ILBA_MEMORY,
            )
        )
    if area_share < use.least_area:
        found.append(f"Less than {use.least_area:.2f} of the section would remain ({ILBA_MEMORY}).")
    if any(face.shallowest_mm < 0 for face in faces):
        found.append("The slope runs out of the wood at its shallow edge; flatten it or hew the log thinner.")
    return tuple(found)
