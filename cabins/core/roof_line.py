"""The roof line of a cabin with gables of logs, as its layout document tells it, and the places it gives."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from cabins.core.faults import Faults, read_choice, read_number, read_object
from cabins.core.members import LayoutMember, MemberKind, SingleMember, names_of

# Rise over run: 0.05 is hardly a roof, 3 a steeple.
SLOPES = (0.05, 3.0)
HEEL_MM = (0.0, 1_000.0)
LEAST_MIDDLE_MM = (50.0, 1_000.0)
CROWN_LIMIT_MM = (0.0, 500.0)
# A gable log bows at most so much, and is at least this share as thick as the layout's logs (common practice,
# no source): thinner ones would need more rounds, and longer ones, than the layout gives places.
USUAL_CROWN_LIMIT_MM = 30.0
LEAST_SHARE = 0.9
# Four walls stand under one ridge; wings have ridges of their own.
WALLS_UNDER_A_RIDGE = 4


class RidgeRun(StrEnum):
    """How the ridge runs: along the cabin's longer side, or across it. Of equal sides the first wall's."""

    ALONG = "along"
    ACROSS = "across"


@dataclass(frozen=True, slots=True, kw_only=True)
class RoofLine:
    """The line to which the gables' logs shorten: `slope` is rise over run.

    Over the corners' centres it lies `heel_mm` above the higher of the two walls that cross there. A gable
    log's piece is at its own middle at least `least_middle_mm` thick (None: a share of the layout's logs) and
    bows at most `crown_limit_mm`.
    """

    slope: float
    ridge: RidgeRun
    heel_mm: float = 0.0
    least_middle_mm: float | None = None
    crown_limit_mm: float = USUAL_CROWN_LIMIT_MM

    def thickness_mm(self, log_middle_mm: float) -> float:
        """The least middle diameter of a gable log where the layout's logs are `log_middle_mm` thick."""
        return self.least_middle_mm or LEAST_SHARE * log_middle_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class GablePlace:
    """The place of one gable log: the wall that it stands over, and its round counted from there from 1.

    `length_mm`: of the piece to cut for it, which is long enough whatever thickness the logs below have.
    """

    wall: str
    round: int
    length_mm: float
    least_middle_mm: float
    crown_limit_mm: float

    @property
    def member(self) -> SingleMember:
        """The place as a member beyond the walls, which plans, reservations and records know."""
        return SingleMember(
            id=f"gable {self.wall} {self.round}",
            kind=MemberKind.GABLE,
            length_mm=self.length_mm,
            least_middle_mm=self.least_middle_mm,
            crown_limit_mm=self.crown_limit_mm,
        )


def read_roof_line(fields: Mapping[str, object], faults: Faults) -> RoofLine | None:
    """The roof line in `fields`, or None: none is drawn, or its faults are noted."""
    if fields.get("roof_line") is None:
        return None
    here = "/roof_line"
    optional = ("heel_mm", "least_middle_mm", "crown_limit_mm")
    told = read_object(
        fields["roof_line"], pointer=here, required=("slope", "ridge"), optional=optional, faults=faults
    )
    if told is None:
        return None
    ridge = read_choice(told, "ridge", pointer=here, choices=RidgeRun, faults=faults)
    slope = _number(told, "slope", SLOPES, faults)
    heel = _number(told, "heel_mm", HEEL_MM, faults)
    least = None
    if told.get("least_middle_mm") is not None:
        least = _number(told, "least_middle_mm", LEAST_MIDDLE_MM, faults)
    crown = _number(told, "crown_limit_mm", CROWN_LIMIT_MM, faults)
    if slope is None or ridge is None:
        return None
    return RoofLine(
        slope=slope,
        ridge=ridge,
        heel_mm=heel or 0.0,
        least_middle_mm=least,
        crown_limit_mm=USUAL_CROWN_LIMIT_MM if crown is None else crown,
    )


def _number(
    fields: Mapping[str, object], key: str, limits: tuple[float, float], faults: Faults
) -> float | None:
    return read_number(
        fields, key, pointer="/roof_line", smallest=limits[0], largest=limits[1], faults=faults
    )


def check_roof_line(
    roof: RoofLine | None, *, walls: int, members: Sequence[LayoutMember | None], faults: Faults
) -> None:
    """One ridge spans the cabin, and purlins lie in pairs, one on each slope."""
    if roof is None:
        return
    if walls != WALLS_UNDER_A_RIDGE:
        faults.note(
            "/roof_line",
            "not_one_roof",
            f"A roof line is taken for a cabin of four walls; this one has {walls}. Leave it out, and draw "
            f"the gables' logs as members of kind gable.",
        )
    purlins = sum(one.count for one in members if one is not None and one.kind is MemberKind.PURLIN)
    if purlins % 2:
        faults.note(
            "/roof_line",
            "odd_purlins",
            f"Purlins lie in pairs, one on each slope; the members name {purlins}. Draw one more or one "
            f"fewer, or the odd one as kind other.",
        )


def check_gable_names(places: Sequence[GablePlace], members: Sequence[LayoutMember], faults: Faults) -> None:
    """No member bears the name of a gable log."""
    taken = {place.member.id for place in places}
    for number, member in enumerate(members):
        for twice in sorted({member.id, *names_of(member)} & taken)[:1]:
            faults.note(
                f"/members/{number}/id", "duplicate_id", f"The name {twice!r} is that of a gable's log."
            )


def roof_line_document(roof: RoofLine | None) -> dict[str, object] | None:
    """What reads back to `roof`, with every field written out."""
    if roof is None:
        return None
    return {
        "slope": roof.slope,
        "ridge": roof.ridge.value,
        "heel_mm": roof.heel_mm,
        "least_middle_mm": roof.least_middle_mm,
        "crown_limit_mm": roof.crown_limit_mm,
    }
