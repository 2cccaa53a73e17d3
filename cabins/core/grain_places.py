"""What the rules of spiral grain ask of a place in a wall, from the heights of the wall."""

from cabins.core.courses import fitted_opening, settling_spaces_mm
from cabins.core.grain import GrainPlace
from cabins.core.places import WallPlace, columns_of, is_half_round
from cabins.core.stack import Stack


def grain_place(stack: Stack, place: WallPlace) -> GrainPlace:
    """A place as the rules of grain see it.

    A notch of full depth holds the piece at every crossing it lies over: its own over the log below, or that
    of the log above it where it lies on the deck. A sill or header log is weakened by what an opening cuts
    out of it.
    """
    layout = stack.layout
    if is_half_round(place.round, layout.round_count):
        # Its flat side lies on the deck, or carries the plate: nothing there turns it.
        return GrainPlace(
            round=min(max(place.round, 1), layout.round_count), rounds=layout.round_count, is_half_log=True
        )
    held = sum(place.start_mm <= column.at_mm <= place.end_mm for column in columns_of(layout)[place.wall])
    return GrainPlace(
        round=place.round,
        rounds=layout.round_count,
        full_notches=held,
        cut_share=_cut_share(stack, place),
    )


def _cut_share(stack: Stack, place: WallPlace) -> float:
    """The largest share of its height that an opening cuts out of the piece."""
    spaces = settling_spaces_mm(stack.layout)
    shares = [0.0]
    for opening in stack.layout.openings:
        is_over = opening.offset_mm < place.end_mm and place.start_mm < opening.end_mm
        if opening.wall != place.wall or not is_over:
            continue
        fit = fitted_opening(stack, opening, spaces[opening.id], present=stack.layout.courses).fit
        shares += [edge.share for edge in (fit.sill, fit.header) if edge and edge.round == place.round]
    return min(max(shares), 1.0)
