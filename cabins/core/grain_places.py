"""What the rules of spiral grain ask of a place in a wall, from the layout."""

from cabins.core.grain import GrainPlace
from cabins.core.layout_parts import Layout, course_span_mm
from cabins.core.places import Place, columns_of, is_half_round


def grain_place(layout: Layout, place: Place) -> GrainPlace:
    """A place as the rules of grain see it.

    A notch of full depth holds the piece at every crossing it lies over: its own over the log below, or that
    of the log above it where it lies on the deck. Where an opening's sill or head runs into a course without
    cutting it through, it takes its share of the round's nominal height.
    """
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
        cut_share=_cut_share(layout, place),
    )


def _cut_share(layout: Layout, place: Place) -> float:
    """The largest share of the round's nominal height that an opening takes out of the piece."""
    start = next(wall.start for wall in layout.log_walls if wall.id == place.wall)
    bottom, top = course_span_mm(pitch_mm=layout.pitch_mm, start=start, round_number=place.round)
    shares = [
        (min(top, opening.head_mm) - max(bottom, opening.sill_mm)) / (top - bottom)
        for opening in layout.openings
        if opening.wall == place.wall and opening.offset_mm < place.end_mm and opening.end_mm > place.start_mm
    ]
    return min(max([0.0, *shares]), 1.0)
