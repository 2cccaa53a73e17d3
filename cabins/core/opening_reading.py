"""Reads the openings of a layout document, before any geometry."""

from cabins.core.faults import Faults, read_choice, read_name, read_number, read_object
from cabins.core.layout_parts import Opening, OpeningKind
from cabins.core.openings import Threshold
from inventory.core.crew_units import Sentence

LONGEST_WALL_MM = 50_000.0
FLATTEN_MOST_MM = 500.0
_NUMBERS = ("offset_mm", "width_mm", "sill_mm", "head_mm")


def read_opening(raw: object, here: str, faults: Faults) -> Opening | None:
    """The opening at `here`, or None with its faults noted."""
    fields = read_object(
        raw,
        pointer=here,
        required=("id", "kind", "wall", *_NUMBERS),
        optional=("threshold", "flatten_mm"),
        faults=faults,
    )
    if fields is None:
        return None
    fields = {"threshold": Threshold.CUT_THROUGH, "flatten_mm": 0.0, **fields}
    name, wall = (read_name(fields, key, pointer=here, faults=faults) for key in ("id", "wall"))
    kind = read_choice(fields, "kind", pointer=here, choices=OpeningKind, faults=faults)
    threshold = read_choice(fields, "threshold", pointer=here, choices=Threshold, faults=faults)
    offset, width, sill, head = (
        read_number(
            fields,
            key,
            pointer=here,
            # An offset may be written negative; the check against the wall's corner says what is wrong then.
            smallest={"offset_mm": -LONGEST_WALL_MM, "width_mm": 1.0}.get(key, 0.0),
            largest=LONGEST_WALL_MM,
            faults=faults,
        )
        for key in _NUMBERS
    )
    flatten = read_number(
        fields, "flatten_mm", pointer=here, smallest=0.0, largest=FLATTEN_MOST_MM, faults=faults
    )
    if name is None or wall is None or kind is None or threshold is None or flatten is None:
        return None
    if offset is None or width is None or sill is None or head is None:
        return None
    opening = Opening(
        id=name,
        kind=kind,
        wall=wall,
        offset_mm=offset,
        width_mm=width,
        sill_mm=sill,
        head_mm=head,
        threshold=threshold,
        flatten_mm=flatten,
    )
    return opening if _goes_together(opening, here, faults) else None


def _goes_together(opening: Opening, here: str, faults: Faults) -> bool:
    if opening.sill_mm >= opening.head_mm:
        faults.note(
            f"{here}/sill_mm",
            "sill_above_head",
            Sentence(
                "The sill of opening {opening} ({sill:along}) must lie below its head ({head:along}).",
                opening=opening.id,
                sill=opening.sill_mm,
                head=opening.head_mm,
            ),
        )
        return False
    if opening.kind is OpeningKind.WINDOW and opening.threshold is not Threshold.CUT_THROUGH:
        faults.note(
            f"{here}/threshold",
            "no_threshold",
            f"Opening {opening.id} is a window, which has no threshold; leave it out.",
        )
        return False
    if (opening.threshold is Threshold.FLATTENED) != (opening.flatten_mm > 0):
        faults.note(
            f"{here}/flatten_mm",
            "flatten_depth",
            f"The threshold of opening {opening.id} needs `flatten_mm` over 0 if it is flattened, and only "
            f"then.",
        )
        return False
    return True
