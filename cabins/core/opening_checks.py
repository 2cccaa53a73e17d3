"""Checks the openings of a layout: clear of what crosses their wall and of each other, within it."""

from collections.abc import Sequence

from cabins.core.courses import fitted_opening, settling_spaces_mm
from cabins.core.faults import Faults
from cabins.core.layout_parts import Opening, Partition, Start, Wall
from cabins.core.layout_reading import ROUNDS, Drawing
from cabins.core.openings import OpeningFit
from cabins.core.rounds import rounds_for_height
from cabins.core.stack import Stack
from inventory.core.crew_units import Sentence


def check_openings(
    drawing: Drawing, walls: tuple[Wall, ...], partitions: tuple[Partition, ...], faults: Faults
) -> None:
    """Every opening lies within its wall, clear of what crosses it there and of the others."""
    standing: tuple[Wall | Partition, ...] = (*walls, *partitions)
    lengths = {wall.id: wall.length_mm for wall in standing}
    starts = {wall.id: wall.start for wall in standing}
    named = {part.id for part in (*drawing.walls, *drawing.partitions) if part is not None}
    crossed = _crossed_mm(walls, partitions)
    placed = []
    for number, opening in enumerate(drawing.openings):
        if opening is None:
            continue
        here = f"/openings/{number}"
        if opening.wall in lengths:
            placed.append((here, opening, starts[opening.wall]))
            check_on_wall(
                opening,
                here,
                wall_length_mm=lengths[opening.wall],
                crossed_mm=crossed[opening.wall],
                half_mm=(drawing.log_middle_mm or 0.0) / 2,
                faults=faults,
            )
            check_clear(opening, here, [other for _, other, _ in placed[:-1]], faults=faults)
        elif opening.wall not in named and None not in (*drawing.walls, *drawing.partitions):
            faults.note(f"{here}/wall", "unknown_wall", f"There is no wall {opening.wall!r}.")
    _check_upright(drawing, placed, faults)


def _crossed_mm(walls: tuple[Wall, ...], partitions: tuple[Partition, ...]) -> dict[str, list[float]]:
    """Where others cross each wall between its ends: at tees, and at corners that it runs on past."""
    standing: tuple[Wall | Partition, ...] = (*walls, *partitions)
    crossed: dict[str, list[float]] = {one.id: [] for one in standing}
    for one in standing:
        for tee in one.tees:
            if tee is not None:
                crossed[tee.wall].append(tee.at_mm)
    for wall in walls:
        at = [wall.from_corner_mm, wall.to_corner_mm]
        crossed[wall.id] += [at[end] for end, run_on in enumerate(wall.run_ons) if run_on]
    return crossed


def _check_upright(drawing: Drawing, placed: list[tuple[str, Opening, Start]], faults: Faults) -> None:
    middle, gap, height = drawing.log_middle_mm, drawing.gap, drawing.wall_height_mm
    if middle is None or gap is None or (height is None and drawing.rounds is None):
        return
    pitch = middle + gap.target_mm
    if pitch <= 0:
        return
    rounds = drawing.rounds or rounds_for_height(height or 0.0, pitch)
    if rounds > ROUNDS[1]:
        faults.note(
            "/wall_height_mm",
            "too_large",
            f"This height takes {rounds} rounds; at most {ROUNDS[1]} are taken.",
        )
        return
    for here, opening, start in placed:
        top = course_top_mm(pitch, start, rounds)
        check_height(opening, here, top_mm=top, faults=faults)


def course_top_mm(pitch_mm: float, start: Start, rounds: int) -> float:
    """Nominal top of a wall of so many rounds, above the deck."""
    return pitch_mm * rounds + (pitch_mm / 2 if start is Start.HIGH else 0.0)


def check_on_wall(
    opening: Opening,
    here: str,
    *,
    wall_length_mm: float,
    crossed_mm: Sequence[float],
    half_mm: float,
    faults: Faults,
) -> None:
    """An opening lies on its wall, clear of the logs that cross at its ends and between them.

    `crossed_mm`: where others cross the wall between its ends; `half_mm`: half a log, which a crossing log
    takes either side.
    """
    room = wall_length_mm - 2 * half_mm
    would_do = Sentence(
        "an offset from {least:along} to {most:along} would do",
        least=half_mm,
        most=room + half_mm - opening.width_mm,
    )
    named = {"opening": opening.id, "wall": opening.wall, "would_do": would_do}
    if opening.width_mm > room:
        message = Sentence(
            "Opening {opening} is {width:along} wide, but between the logs of its corners wall {wall} has "
            "{room:along}; a narrower one would do.",
            width=opening.width_mm,
            room=max(room, 0.0),
            **named,
        )
        faults.note(f"{here}/width_mm", "past_the_wall", message)
    elif opening.offset_mm < 0 or opening.end_mm > wall_length_mm:
        message = Sentence(
            "Opening {opening} runs from {start:along} to {end:along} along wall {wall}, which is "
            "{length:along} long; {would_do}.",
            start=opening.offset_mm,
            end=opening.end_mm,
            length=wall_length_mm,
            **named,
        )
        faults.note(here, "past_the_wall", message)
    elif opening.offset_mm < half_mm or opening.end_mm > wall_length_mm - half_mm:
        message = Sentence(
            "Opening {opening} cuts into a corner of wall {wall}; it must stay half a log ({half:across}) "
            "clear of the corner's centre: {would_do}.",
            half=half_mm,
            **named,
        )
        faults.note(here, "over_corner", message)
    for at in crossed_mm:
        if opening.offset_mm < at + half_mm and opening.end_mm > at - half_mm:
            message = Sentence(
                "Opening {opening} lies over the logs that cross wall {wall} at {at:along}; it must end at "
                "{before:along} or begin at {behind:along}.",
                at=at,
                before=at - half_mm,
                behind=at + half_mm,
                **named,
            )
            faults.note(here, "over_tee", message)


def check_height(opening: Opening, here: str, *, top_mm: float, faults: Faults) -> None:
    """An opening's head lies within the wall's nominal height `top_mm`."""
    if opening.head_mm > top_mm:
        message = Sentence(
            "The head of opening {opening} lies at {head:along}, but wall {wall} ends at {top:along}; a head "
            "below that, or more rounds, would do.",
            opening=opening.id,
            head=opening.head_mm,
            wall=opening.wall,
            top=top_mm,
        )
        faults.note(f"{here}/head_mm", "head_above_wall", message)


def check_clear(opening: Opening, here: str, others: Sequence[Opening], *, faults: Faults) -> None:
    """An opening overlaps none of the `others`, those of its wall that were drawn before it."""
    for other in others:
        over = min(opening.head_mm, other.head_mm) - max(opening.sill_mm, other.sill_mm)
        if opening.wall == other.wall and over > 0 and _are_in_line(opening, other):
            message = Sentence(
                "Openings {other} and {opening} of wall {wall} overlap: {other} lies from {near:along} to "
                "{far:along} along it, {opening} from {start:along} to {end:along}; one of them must move.",
                other=other.id,
                opening=opening.id,
                wall=opening.wall,
                near=other.offset_mm,
                far=other.end_mm,
                start=opening.offset_mm,
                end=opening.end_mm,
            )
            faults.note(here, "over_opening", message)


def check_apart(expected: Stack, faults: Faults) -> None:
    """Between two openings that stand over each other a whole log is left. `expected`: heights before a
    plan."""
    openings = expected.layout.openings
    spaces = settling_spaces_mm(expected.layout)
    fits = [fitted_opening(expected, one, spaces[one.id]).fit for one in openings]
    for number, opening in enumerate(openings):
        for before in range(number):
            other = openings[before]
            if opening.wall != other.wall or not _are_in_line(opening, other):
                continue
            shared = _cut_by_one(fits[number], fits[before]) | _cut_by_one(fits[before], fits[number])
            if shared:
                faults.note(
                    f"/openings/{number}",
                    "over_opening",
                    f"Openings {other.id} and {opening.id} of wall {opening.wall} stand over each other, and "
                    f"with the settling space round {min(shared)} is cut through between them; leave a whole "
                    f"log there.",
                )


def _cut_by_one(one: OpeningFit, other: OpeningFit) -> set[int]:
    """The rounds that `one` cuts through and `other` needs or cuts through too."""
    edges = {edge.round for edge in (other.sill, other.header) if edge and edge.round > 0}
    return set(one.through) & (edges | set(other.through))


def _are_in_line(one: Opening, other: Opening) -> bool:
    return one.offset_mm <= other.end_mm and other.offset_mm <= one.end_mm
