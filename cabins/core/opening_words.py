"""What an opening's sheet says in sentences: cuts, the threshold, what is out of order."""

from cabins.core.courses import FittedOpening
from cabins.core.layout_parts import HighStart, Layout, Opening, OpeningKind, Start
from cabins.core.openings import NOTHING_MM, Edge, MisfitCode, Pair, Threshold
from inventory.core.crew_units import CrewUnits

CAUTION_HEADER = (
    "A header carries what stands above it: what may be cut out of it, and how wide the opening may be, is "
    "decided by local code and licensed practice."
)
KEYWAY = (
    "Cut a keyway or set splines into the log ends at both jambs, so that the wall slides down along the "
    "frame and its logs cannot lean out; fix no frame to the header (common practice, no source)."
)
BRACE = (
    "Brace this piece to its neighbours and to the deck until the jambs are in: nothing but its own notch "
    "holds it (common practice, no source)."
)
MISFITS = {
    MisfitCode.CUT_TOO_DEEP: (
        "More is to be cut out of the {side} log than the layout allows ({share} of it, at most {limit}): "
        "move the opening, or ask a licensed practitioner."
    ),
    MisfitCode.HOLE_TOO_SMALL: (
        "The hole is {lacks} too small: the threshold stays higher than the sill that was asked. Raise the "
        "head, or cut the threshold."
    ),
    MisfitCode.NO_HEADER: (
        "No log lies over this opening: what carries over it is not of this wall. Ask a licensed "
        "practitioner."
    ),
    MisfitCode.CUT_TWICE: (
        "A log is cut from below by one opening and from above by another, and too little of it is left "
        "between them."
    ),
}


def cut_words(opening: Opening, side: str, edge: Edge, *, until: int | None, units: CrewUnits) -> str:
    """What is to be done to a sill or header log, in one sentence with lengths in `units`."""
    name = f"{_name(opening)}, {side}"
    where = (
        f"from {units.along(opening.offset_mm)} to {units.along(opening.end_mm)} along wall {opening.wall}"
    )
    said = []
    if max(edge.cut_mm) > NOTHING_MM:
        verb = "flatten the top" if side == "sill" else "cut the underside"
        said.append(f"{verb} {_depth(edge.cut_mm, units)} deep {where}")
        if until is not None:
            said.append(f"leave uncut until round {until} is on")
    if max(edge.infill_mm) > NOTHING_MM:
        said.append(
            f"fill in {_depth(edge.infill_mm, units)} {'over' if side == 'sill' else 'under'} it {where}"
        )
    if not said:
        said.append("nothing to cut")
    return f"{name}: {'; '.join(said)}."


def _name(opening: Opening) -> str:
    """`window W1`, `door`: the kind with its name, once where they are the same."""
    kind = "opening" if opening.kind is OpeningKind.OTHER else opening.kind.value
    return opening.id if kind in opening.id.lower() else f"{kind} {opening.id}"


def _depth(pair: Pair, units: CrewUnits) -> str:
    near, far = (units.across(mm) for mm in pair)
    return near if near == far else f"{near} (near jamb) to {far} (far jamb)"


def threshold_words(fitted: FittedOpening, layout: Layout, units: CrewUnits) -> str | None:
    """What becomes of the log that is stepped over; None for a window, or where no log is touched there."""
    opening, fit = fitted.opening, fitted.fit
    if opening.kind is OpeningKind.WINDOW:
        return None
    number = fit.sill.round
    what = "half log" if _is_half_log(layout, opening.wall, number) else f"log of round {number}"
    if opening.threshold is Threshold.KEPT:
        return f"The {what} is kept whole as threshold."
    if opening.threshold is Threshold.FLATTENED:
        return f"The {what} is flattened by {units.across(opening.flatten_mm)} as threshold."
    if 0 in fit.through:
        return "The half log is cut through: the door stands on the deck."
    if number == 0:
        return "No log is left under it: it stands on what the wall starts on."
    if max(fit.sill.cut_mm) > NOTHING_MM:
        return f"The {what} is the threshold, flattened {_depth(fit.sill.cut_mm, units)} deep."
    return f"The {what} is the threshold, as it lies."


def _is_half_log(layout: Layout, wall: str, number: int) -> bool:
    start = next(one.start for one in layout.log_walls if one.id == wall)
    return number == 0 and start is Start.HIGH and layout.high_start is HighStart.HALF_LOG
