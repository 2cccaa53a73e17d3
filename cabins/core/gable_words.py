"""What the sheet of a cabin's gables says: what is out of order, cautions, and what its figures rest on."""

from collections.abc import Iterable, Iterator

from cabins.core.gables import Gable, GableLog, GableSeat
from cabins.core.openings import NOTHING_MM
from inventory.core.basis import Basis
from inventory.core.crew_units import Sentence

STRUCTURE = (
    "Gables, ridge, purlins, their spans, ties and bracing, and the snow and wind they carry are decided by "
    "local code and licensed practice; these heights are geometry only."
)
BRACE = (
    "A gable of logs stands free until purlins and ridge tie it: pin its logs and brace it from the first on "
    "(common practice, no source)."
)
CUT_LATER = (
    "Leave the ends long, and cut them to a line stretched along the slope once the gable stands; beside a "
    "purlin the logs are cut back to it."
)
SETTLES = (
    "A gable of logs comes down as it dries, and purlins and ridge with it; what stands under them on posts "
    "does not."
)
CAUTIONS = (STRUCTURE, BRACE, CUT_LATER, SETTLES)

BASIS = Basis(
    rule="a gable log lies on the one below with the layout's target gap, as thick as its piece is half way "
    "along, and ends where the roof line meets its underside; purlins and ridge touch the line from below",
    source="geometry; even places of purlins between wall and ridge: common practice, no source",
    assumption="the line is level over all four corners, as high as the higher wall ends there on the mean; "
    "butts of gable logs alternate; a log that is not known is as thick as the layout says",
)


def gable_notes(gable: Gable, *, cut_share: float) -> tuple[str, ...]:
    """What is out of order at one gable."""
    spare = (f"Not needed with logs so thick: {', '.join(gable.not_needed)}.",) if gable.not_needed else ()
    return (*_short_logs(gable.logs), *_deep_seats(gable, cut_share), *_high_tails(gable), *spare)


def _short_logs(logs: Iterable[GableLog]) -> Iterator[str]:
    for log in logs:
        if log.lacks_mm > NOTHING_MM:
            yield Sentence(
                "{log} is to be {length:along} long between its long points; the piece cut for it lacks "
                "{lacks:across}.",
                log=log.member,
                length=log.length_mm,
                lacks=log.lacks_mm,
            )


def _deep_seats(gable: Gable, cut_share: float) -> Iterator[str]:
    for seat in gable.seats:
        if seat.share > cut_share:
            yield Sentence(
                "The seat of {member} takes {depth:across} of {log}, more than the layout's share: move the "
                "member along the slope, or let it bear on the log below.",
                member=seat.member,
                depth=seat.depth_mm,
                log=seat_words(gable, seat),
            )


def _high_tails(gable: Gable) -> Iterator[str]:
    over = max(gable.tails_mm)
    if over > NOTHING_MM:
        yield Sentence(
            "The tails of wall {wall}'s last round rise up to {over:across} over the roof line: cut them to "
            "the slope.",
            wall=gable.wall,
            over=over,
        )


def seat_words(gable: Gable, seat: GableSeat) -> str:
    """The log that a member bears on, in words."""
    return f"wall {gable.wall}'s last round" if seat.round == 0 else f"gable {gable.wall} {seat.round}"
