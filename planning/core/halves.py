"""Which half logs are ripped from one part of a log: pairs of places, and as the problem takes them."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from cabins.core.layout_parts import Layout
from cabins.core.places import WallPlace, is_half_round, places_of
from planning.core.problem import Half, HalfPlace, PlanPiece

# A place as wall, round, piece.
Spot = tuple[str, int, int]
# Ends of one saw cut, as two records of it may have them.
SAME_CUT_MM = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class HalfPair:
    """One or two places that one part of a log fills; two are ripped from it along its middle."""

    places: tuple[Spot, ...]


def half_log_places(layout: Layout) -> list[WallPlace]:
    """The layout's places for half logs."""
    return [place for place in places_of(layout) if is_half_round(place.round, layout.round_count)]


def pair_half_logs(layout: Layout, set_halves: Sequence[PlanPiece] = ()) -> tuple[HalfPair, ...]:
    """Every place for a half log in a pair, or alone: halves of one log lie together, then like lengths.

    `set_halves`: the half logs that lie already. The other half of one that lies alone goes into the longest
    open place that it fills; the rest pair by length, the longest first, within a round: a half that waits
    from the first round to the last bows as it dries (common practice, no source).
    """
    length = {(p.wall, p.round, p.piece): p.length_mm for p in half_log_places(layout)}
    laid = {(p.wall, p.round, p.piece): p for p in set_halves}
    pairs: list[HalfPair] = []
    alone = _twins(laid, length, pairs)
    open_spots = sorted(length.keys() - laid.keys(), key=lambda spot: (-length[spot], spot))
    for spot in alone:
        other = next((one for one in open_spots if length[one] <= length[spot]), None)
        if other is not None:
            open_spots.remove(other)
        pairs.append(HalfPair(places=(spot,) if other is None else (spot, other)))
    for number in sorted({round_number for _, round_number, _ in open_spots}):
        here = [spot for spot in open_spots if spot[1] == number]
        pairs += [HalfPair(places=tuple(here[first : first + 2])) for first in range(0, len(here), 2)]
    return tuple(pairs)


def _twins(laid: dict[Spot, PlanPiece], length: dict[Spot, float], pairs: list[HalfPair]) -> list[Spot]:
    """Adds the halves that lie and are of one part of a log to `pairs`; those that lie alone come back."""
    alone: list[Spot] = []
    for spot in sorted(laid, key=lambda spot: (-length[spot], spot)):
        twin = next((one for one in alone if _are_of_one_part(laid, length, one, spot)), None)
        if twin is None:
            alone.append(spot)
        else:
            alone.remove(twin)
            pairs.append(HalfPair(places=(twin, spot)))
    return alone


def _are_of_one_part(laid: dict[Spot, PlanPiece], length: dict[Spot, float], one: Spot, other: Spot) -> bool:
    first, second = laid[one], laid[other]
    near = max(first.from_butt_mm, second.from_butt_mm)
    far = min(first.from_butt_mm + length[one], second.from_butt_mm + length[other])
    return first.log == second.log and far - near > SAME_CUT_MM


def half_places(layout: Layout, pairs: Iterable[HalfPair]) -> tuple[HalfPlace, ...]:
    """The pairs as the problem has them."""
    places = {(place.wall, place.round, place.piece): place for place in half_log_places(layout)}
    return tuple(
        HalfPlace(
            halves=tuple(
                Half(
                    wall=wall,
                    piece=piece,
                    start_mm=places[wall, number, piece].start_mm,
                    end_mm=places[wall, number, piece].end_mm,
                    round=number,
                )
                for wall, number, piece in pair.places
            ),
            kerf_mm=layout.rip_kerf_mm,
        )
        for pair in pairs
    )


def halves_pinned(pairs: Iterable[HalfPair], pieces: Iterable[PlanPiece]) -> list[PlanPiece]:
    """The pieces that lie, with the other half of each half log beside it and both told as one cut."""
    found = list(pieces)
    at = {(piece.wall, piece.round, piece.piece): piece for piece in found if piece.member is None}
    for pair in pairs:
        lead = next((at[spot] for spot in pair.places if spot in at), None)
        if lead is None:
            continue
        for wall, number, piece in pair.places:
            if (held := at.get((wall, number, piece))) is not None:
                found.remove(held)
            found.append(_half_of(lead, wall, number, piece))
    return found


def _half_of(lead: PlanPiece, wall: str, number: int, piece: int) -> PlanPiece:
    return PlanPiece(
        cabin=lead.cabin,
        wall=wall,
        round=number,
        piece=piece,
        log=lead.log,
        from_butt_mm=lead.from_butt_mm,
        butt_at=lead.butt_at,
    )
