"""Checks the openings of a layout: clear of corners, tees and each other, within their wall."""

from collections.abc import Sequence

from cabins.core.faults import Faults
from cabins.core.layout_parts import SPLIT_OVERLAP, Opening, Start, course_span_mm, splits_course
from inventory.core.crew_units import Sentence


def check_on_wall(
    opening: Opening,
    here: str,
    *,
    wall_length_mm: float,
    tees_mm: Sequence[float],
    half_mm: float,
    faults: Faults,
) -> None:
    """An opening lies on its wall, clear of the logs that cross at its corners and tees.

    `tees_mm`: where partitions meet the wall; `half_mm`: half a log, which a crossing log takes either side.
    """
    if opening.offset_mm < 0 or opening.end_mm > wall_length_mm:
        faults.note(
            here,
            "past_the_wall",
            Sentence(
                "Opening {opening} runs from {start:along} to {end:along} along wall {wall}, which is "
                "{length:along} long.",
                opening=opening.id,
                start=opening.offset_mm,
                end=opening.end_mm,
                wall=opening.wall,
                length=wall_length_mm,
            ),
        )
    elif opening.offset_mm < half_mm or opening.end_mm > wall_length_mm - half_mm:
        faults.note(
            here,
            "over_corner",
            Sentence(
                "Opening {opening} cuts into a corner of wall {wall}; it must stay half a log "
                "({half:across}) "
                "clear of the corner's centre.",
                opening=opening.id,
                wall=opening.wall,
                half=half_mm,
            ),
        )
    for tee in tees_mm:
        if opening.offset_mm < tee + half_mm and opening.end_mm > tee - half_mm:
            faults.note(
                here,
                "over_tee",
                Sentence(
                    "Opening {opening} lies over the partition that meets wall {wall} at {tee:along}.",
                    opening=opening.id,
                    wall=opening.wall,
                    tee=tee,
                ),
            )


def check_height(opening: Opening, here: str, *, top_mm: float, faults: Faults) -> None:
    """An opening's head lies within the wall's nominal height `top_mm`."""
    if opening.head_mm > top_mm:
        faults.note(
            f"{here}/head_mm",
            "head_above_wall",
            Sentence(
                "The head of opening {opening} lies at {head:along}, but wall {wall} ends at {top:along}.",
                opening=opening.id,
                head=opening.head_mm,
                wall=opening.wall,
                top=top_mm,
            ),
        )


def check_apart(
    openings: Sequence[tuple[str, Opening, Start]], *, pitch_mm: float, rounds: int, faults: Faults
) -> None:
    """No two openings of a wall overlap, or cut the same course at the same position.

    One above another is allowed as long as no course is cut by both. `openings`: pointer, opening, start.
    """
    for number, (here, opening, start) in enumerate(openings):
        for _, other, _ in openings[:number]:
            apart = opening.offset_mm > other.end_mm or other.offset_mm > opening.end_mm
            if opening.wall != other.wall or apart:
                continue
            over = min(opening.head_mm, other.head_mm) - max(opening.sill_mm, other.sill_mm)
            if over > 0 or _cut_one_course(opening, other, start, pitch_mm, rounds):
                faults.note(
                    here,
                    "over_opening",
                    f"Openings {other.id} and {opening.id} of wall {opening.wall} overlap, or cut the same "
                    f"course at the same position.",
                )


def _cut_one_course(one: Opening, other: Opening, start: Start, pitch_mm: float, rounds: int) -> bool:
    return any(
        all(splits_course(opening=each, span_mm=span, split_overlap=SPLIT_OVERLAP) for each in (one, other))
        for span in (
            course_span_mm(pitch_mm=pitch_mm, start=start, round_number=number)
            for number in range(1, rounds + 1)
        )
    )
