"""How a cabin's walls begin and end, read from the layout document: flats, half logs, raised deck, tops."""

from collections.abc import Mapping
from dataclasses import dataclass

from cabins.core.faults import Faults, read_choice, read_flag, read_number, read_object
from cabins.core.layout_parts import HighStart, Layout, SillFlat, WallTop

RIP_KERF_MM = 5.0
# Sizes beyond which a number is a slip of the pen.
FLAT_MM = (1.0, 500.0)
SEALER_MM = (0.0, 50.0)
RIP_KERF_LIMITS_MM = (0.0, 30.0)
DECK_RAISE_MM = (0.0, 1_000.0)

BEGINNING_KEYS = ("sill_flat", "sealer_mm", "half_logs", "rip_kerf_mm", "deck_raise_mm", "top")

Fields = Mapping[str, object]


@dataclass(frozen=True, slots=True, kw_only=True)
class Beginning:
    """What the first and the last logs lie on and end in, as in `Layout`."""

    sill_flat: SillFlat | None
    sealer_mm: float
    half_logs: bool
    rip_kerf_mm: float
    deck_raise_mm: float | None
    top: WallTop


def read_beginning(fields: Fields, faults: Faults) -> Beginning:
    """The optional keys of the first and last logs. What is left out means what it meant before they were."""
    sealer = read_number(
        fields, "sealer_mm", pointer="", smallest=SEALER_MM[0], largest=SEALER_MM[1], faults=faults
    )
    kerf = read_number(
        fields,
        "rip_kerf_mm",
        pointer="",
        smallest=RIP_KERF_LIMITS_MM[0],
        largest=RIP_KERF_LIMITS_MM[1],
        faults=faults,
    )
    raise_mm = None
    if fields.get("deck_raise_mm") is not None:
        raise_mm = read_number(
            fields,
            "deck_raise_mm",
            pointer="",
            smallest=DECK_RAISE_MM[0],
            largest=DECK_RAISE_MM[1],
            faults=faults,
        )
    top = read_choice(fields, "top", pointer="", choices=WallTop, faults=faults)
    return Beginning(
        sill_flat=_sill_flat(fields, faults),
        sealer_mm=sealer or 0.0,
        half_logs=read_flag(fields, "half_logs", pointer="", faults=faults),
        rip_kerf_mm=RIP_KERF_MM if kerf is None else kerf,
        deck_raise_mm=raise_mm,
        top=top or WallTop.AS_IT_FALLS,
    )


def _sill_flat(fields: Fields, faults: Faults) -> SillFlat | None:
    if fields.get("sill_flat") is None:
        return None
    names = ("depth_mm", "width_mm")
    flat = read_object(fields["sill_flat"], pointer="/sill_flat", required=(), optional=names, faults=faults)
    if flat is None:
        return None
    told = [name for name in names if flat.get(name) is not None]
    if len(told) != 1:
        faults.note("/sill_flat", "flat_not_clear", "A flat is told by its depth or by its width: just one.")
        return None
    [name] = told
    size = read_number(
        flat, name, pointer="/sill_flat", smallest=FLAT_MM[0], largest=FLAT_MM[1], faults=faults
    )
    if size is None:
        return None
    return SillFlat(depth_mm=size) if name == "depth_mm" else SillFlat(width_mm=size)


def check_beginning(
    beginning: Beginning, *, high_start: HighStart | None, log_middle_mm: float | None, faults: Faults
) -> None:
    """What is told of the first logs goes together and leaves a log to lie on."""
    flat = beginning.sill_flat
    if flat is not None and log_middle_mm is not None:
        if flat.depth_mm is not None and flat.depth_mm > log_middle_mm / 4:
            faults.note(
                "/sill_flat/depth_mm",
                "too_large",
                f"A flat {flat.depth_mm:g} deep takes more than a quarter of a log of {log_middle_mm:g}.",
            )
        if flat.width_mm is not None and flat.width_mm > 0.8 * log_middle_mm:
            faults.note(
                "/sill_flat/width_mm",
                "too_large",
                f"A flat {flat.width_mm:g} wide takes more than a fifth of the height of a log of "
                f"{log_middle_mm:g}; {0.8 * log_middle_mm:g} is the most.",
            )
    if beginning.sealer_mm and flat is None:
        faults.note("/sealer_mm", "no_flat", "A sill sealer lies under a flat; give `sill_flat` too.")
    if high_start is HighStart.RAISED_DECK and beginning.half_logs:
        faults.note(
            "/half_logs", "raised_deck", "Where the high walls start on a raised deck there are no half logs."
        )
    if high_start is HighStart.HALF_LOG and beginning.deck_raise_mm is not None:
        faults.note(
            "/deck_raise_mm",
            "no_raised_deck",
            "The deck is raised only where `high_start` is raised_deck.",
        )


def beginning_document(layout: Layout) -> dict[str, object]:
    """The keys that read back to a layout's beginning, every one written out."""
    flat = layout.sill_flat
    return {
        "sill_flat": None if flat is None else {"depth_mm": flat.depth_mm, "width_mm": flat.width_mm},
        "sealer_mm": layout.sealer_mm,
        "half_logs": layout.half_logs,
        "rip_kerf_mm": layout.rip_kerf_mm,
        "deck_raise_mm": layout.deck_raise_mm,
        "top": layout.top.value,
    }
