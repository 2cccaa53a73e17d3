"""How each log of a wall lies over the course below: the gap along it, and how it is scribed.

From the pieces of a plan or of the wall, their profiles and crowns, and the heights of the wall stack.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from cabins.core.along_the_wall import (
    BASIS,
    UNCERTAINTY,
    CrownLaid,
    GapAlong,
    LaidLog,
    diameter_mm,
    gap_along,
    is_outside,
    top_mm,
    underside_mm,
)
from cabins.core.layout_parts import Gap, Layout
from cabins.core.pieces import ButtAt
from cabins.core.places import WallPlace, columns_of, is_half_round, places_of
from cabins.core.scribing import ScribedCrossing, Scribing, scribing_of
from cabins.core.stack import Stack
from inventory.core.basis import Basis
from inventory.core.crew_units import Sentence
from planning.core.sheets import SheetPiece

Key = tuple[str, int, int]
CROWN_NOT_KNOWN = (
    "Nobody looked at a crown here, of this log or of one below: the gap is that of straight logs."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lying:
    """How a log lies over the course below; `gap_along` and `scribing` are None where nothing lies there.

    `crown_laid`: which way the side that it bows to is turned. `is_outside_band`: the gap leaves the layout's
    band somewhere along the wall.
    """

    crown_laid: CrownLaid
    gap_along: GapAlong | None
    is_outside_band: bool
    scribing: Scribing | None
    cautions: tuple[str, ...]
    basis: Basis
    uncertainty: str


def leaves_band(gap: GapAlong, band: Gap) -> Sentence:
    """That the gap, or the overlap of a scribed wall, leaves its band somewhere along the wall."""
    least, most = gap.smallest_mm, gap.largest_mm
    if band.is_scribed:
        told = "the overlap is {least:across} to {most:across}"
        if most > 0:
            told = "the logs lie {least:across} apart"
        return Sentence(
            f"Along the wall {told}; the layout's band is an overlap of {{first:across}} to {{to:across}}.",
            least=abs(most),
            most=-least,
            first=-band.largest_mm,
            to=-band.smallest_mm,
        )
    told = "the gap is {least:across} to {most:across}"
    if least < 0:
        told = "the logs run {into:across} into each other"
    return Sentence(
        f"Along the wall {told}; the layout's band is a gap of {{first:across}} to {{to:across}}.",
        least=least,
        most=most,
        into=-least,
        first=band.smallest_mm,
        to=band.largest_mm,
    )


class WallLying:
    """The logs of a cabin as they lie in its walls, each held where its wall's heights are known."""

    def __init__(self, layout: Layout, pieces: Iterable[SheetPiece], stack: Stack) -> None:
        self.layout = layout
        self._tops = {(one.wall, one.round, one.column): one for one in stack.tops}
        self._notches = {(one.wall, one.round, one.column): one.depth_mm for one in stack.notches}
        places = {(one.wall, one.round, one.piece): one for one in places_of(layout)}
        self._laid: dict[Key, LaidLog] = {}
        self._pieces: dict[Key, SheetPiece] = {}
        for piece in sorted(pieces, key=lambda one: one.round):
            key = (piece.wall, piece.round, piece.piece)
            self._pieces[key] = piece
            self._laid[key] = self._lay(piece, places[key])

    def lying(self, key: Key, *, overscribe_mm: float = 0.0) -> Lying:
        """How the piece of a place lies. The overlap wanted at the widest is the least of the gap's band."""
        piece, log, below = self._pieces[key], self._laid[key], self._below(key[0], key[1])
        gap = self.gap(key)
        band, cautions = self.layout.gap, []
        leaves = gap is not None and is_outside(gap, band)
        if gap is not None and leaves:
            cautions.append(leaves_band(gap, band))
        if any(one.crown_mm is None for one in (piece, *self._pieces_below(key))):
            cautions.append(Sentence(CROWN_NOT_KNOWN))
        scribing = None
        if band.is_scribed and gap is not None:
            scribing = scribing_of(
                log,
                below,
                self._crossings(key),
                overlap_mm=max(-band.largest_mm, 0.0),
                overscribe_mm=overscribe_mm,
            )
        return Lying(
            crown_laid=log.crown_laid,
            gap_along=gap,
            is_outside_band=leaves,
            scribing=scribing,
            cautions=(*cautions, *(scribing.cautions if scribing else ())),
            basis=BASIS,
            uncertainty=UNCERTAINTY,
        )

    def gap(self, key: Key) -> GapAlong | None:
        """The gap to the course below all along the piece of a place; None where no log lies below.

        A half log over a round lies on its ripped face, which is cut to fit: it has no gap of its own.
        """
        return None if self._is_half(key[1]) else gap_along(self._laid[key], self._below(key[0], key[1]))

    def _pieces_below(self, key: Key) -> list[SheetPiece]:
        return [one for (wall, number, _), one in self._pieces.items() if (wall, number + 1) == key[:2]]

    def _below(self, wall: str, number: int) -> list[LaidLog]:
        return [one for (of, at, _), one in self._laid.items() if (of, at + 1) == (wall, number)]

    def _lay(self, piece: SheetPiece, place: WallPlace) -> LaidLog:
        """A piece held at its outer columns; at the opening's edge where it crosses no log there."""
        log = LaidLog(
            profile=piece.profile,
            from_butt_mm=piece.from_butt_mm,
            butt_at=ButtAt(piece.butt_at),
            start_mm=place.start_mm,
            end_mm=place.end_mm,
            supports=((place.start_mm, 0.0), (place.end_mm, 0.0)),
            # Ripped along the middle and laid on its flat, a half log's bow is neither up nor down.
            crown_mm=0.0 if self._is_half(piece.round) else piece.crown_mm or 0.0,
            crown_at_mm=piece.crown_at_mm,
        )
        held = [
            (column.at_mm, self._tops[piece.wall, piece.round, column.column].top_mm)
            for column in columns_of(self.layout)[piece.wall]
            if place.start_mm <= column.at_mm <= place.end_mm
        ]
        if len(held) < 2:
            below = self._below(piece.wall, piece.round)
            jambs = [at for at in (place.start_mm, place.end_mm) if self._is_jamb(piece.wall, at)]
            free = [at for at in jambs or (place.start_mm, place.end_mm) if at not in dict(held)]
            held += [(at, self._jamb_top_mm(piece, log, at, below)) for at in free]
        held.sort()
        return replace(log, supports=(held[0], held[-1]))

    def _is_half(self, number: int) -> bool:
        return is_half_round(number, self.layout.round_count)

    def _is_jamb(self, wall: str, at_mm: float) -> bool:
        length = next(one.length_mm for one in self.layout.log_walls if one.id == wall)
        return 0 < at_mm < length

    def _jamb_top_mm(self, piece: SheetPiece, log: LaidLog, at_mm: float, below: Sequence[LaidLog]) -> float:
        """At an opening's edge the gap is held at its target; over nothing, in line with the wall's ends."""
        lower = next((one for one in below if one.start_mm <= at_mm <= one.end_mm), None)
        if lower is not None:
            return top_mm(lower, at_mm) + self.layout.gap.target_mm + diameter_mm(log, at_mm)
        columns = columns_of(self.layout)[piece.wall]
        first, last = (self._tops[piece.wall, piece.round, columns[end].column] for end in (0, -1))
        start, end = (one.top_mm - one.diameter_mm for one in (first, last))
        share = (at_mm - first.at_mm) / (last.at_mm - first.at_mm)
        return start + share * (end - start) + diameter_mm(log, at_mm)

    def _crossings(self, key: Key) -> tuple[ScribedCrossing, ScribedCrossing]:
        """What the log rests on at its two supports; at an opening's edge as deep as at the other."""
        log = self._laid[key]
        depths: Mapping[float, float] = {
            column.at_mm: self._notches[key[0], key[1], column.column]
            for column in columns_of(self.layout)[key[0]]
            if (key[0], key[1], column.column) in self._notches
        }
        known = [depths[at] for at, _ in log.supports if at in depths]
        other = known[0] if known else 0.0
        first, last = (
            ScribedCrossing(
                at_mm=at,
                top_mm=underside_mm(log, at) + depths.get(at, other),
                notch_mm=depths.get(at, other),
            )
            for at, _ in log.supports
        )
        return first, last
