"""What a lead says of a log, once and for every plan: pinned, kept for a use, not yet, never in a wall."""

from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from cabins.cabins.models import Cabin
from cabins.core.members import MemberKind
from cabins.prepared_pieces.models import PieceMark
from cabins.walls.queries import layout_of
from crews.accounts.models import Crew
from crews.accounts.versioned_rows import change_row, one_of
from crews.api.problems import Fault, fault
from crews.api.reading import raise_if_any
from crews.api.versions import Expected, check_version
from inventory.logs.models import Log, LogState
from inventory.logs.queries import log_row
from planning.core.lead_words import LeadWord
from planning.core.what_if import Place as PlaceKey
from planning.jobs.pins import Pin, Target, pin_faults, target_fields, target_lengths_mm, target_of

Instruction = Mapping[str, Any]
_EMPTY = {
    "cabin": None, "use": None, "wall": None, "round": None, "piece": None, "member": None,
    "from_butt_mm": None, "butt_at": None,
}  # fmt: skip
_USES = {"sill": "a sill log", "plate": "a plate log", "ridge": "the ridge"}


@transaction.atomic
def instruct_log(
    *, crew: Crew, id: UUID, instructions: Sequence[Instruction], expected: Expected | None, at: datetime
) -> None:
    """Keep what the lead says of the log; an empty list takes it back. The same again changes nothing.

    Raises InvalidInput with every fault, VersionNeeded, VersionStale, NotFound.
    """
    log = one_of(Log, crew=crew, id=id, lock=True)
    cabins = {
        cabin.id: cabin
        for cabin in Cabin.objects.of(crew).filter(
            id__in=[one["cabin"] for one in instructions if one["cabin"]]
        )
    }
    lengths = target_lengths_mm(list(cabins.values()))
    raise_if_any(
        [
            found
            for n, one in enumerate(instructions)
            for found in _faults(log, one, cabins, lengths, f"/instructions/{n}")
        ]
        + pin_faults(
            crew,
            [
                Pin(at=f"/instructions/{n}", log=log, target=target_of(one), from_butt_mm=_near_mm(one))
                for n, one in enumerate(instructions)
                if one["kind"] == "pin" and one["cabin"] in cabins
            ],
            lengths_mm=lengths,
        )
        + _contradictions(log, instructions)
    )
    stored = [_document(one, cabins) for one in instructions]
    if log.instructions == stored:
        return
    check_version(expected=expected, current=log.version, row=log_row(crew, id))
    change_row(log, fields={"instructions": stored}, at=at)


def _faults(
    log: Log, one: Instruction, cabins: Mapping[UUID, Cabin], targets: Container[Target], at: str
) -> Iterable[Fault]:
    cabin = None
    if one["cabin"] is not None:
        cabin = cabins.get(one["cabin"])
        if cabin is None:
            yield fault(f"{at}/cabin", "No such cabin in this crew.", "unknown")
            return
    if one["kind"] != "pin" or cabin is None:
        return
    if target_of(one) not in targets:
        field, what = ("wall", "place") if one["member"] is None else ("member", "member")
        yield fault(f"{at}/{field}", f"{cabin.name} has no such {what}.", "unknown")
    other = _pinned_there(log, _target(one))
    if other is not None:
        yield fault(f"{at}/cabin", f"Log {other.number} is pinned there.", "pinned_twice")


def _contradictions(log: Log, instructions: Sequence[Instruction]) -> list[Fault]:
    """A log that never lies in a wall lies in none, is pinned to none, kept for no first or last round."""
    never = next((n for n, one in enumerate(instructions) if one["kind"] == "never_in_wall"), None)
    if never is None:
        return []
    at = f"/instructions/{never}/kind"
    lying = log.set_pieces.filter(undone_at=None).select_related("cabin").first()
    if lying is not None:
        said = f"It lies in wall {lying.wall} of {lying.cabin.name}, round {lying.round}."
        return [fault(at, said, "contradicts")]
    if any(
        (one["kind"] == "pin" and one["member"] is None) or one["use"] in ("sill", "plate")
        for one in instructions
    ):
        said = "It is pinned to a wall or kept for one: take that back, or say nothing of walls."
        return [fault(at, said, "contradicts")]
    return []


def _near_mm(one: Instruction) -> float | None:
    near = one.get("from_butt_mm")
    return None if near is None else float(near)


def _kinds(cabin: Cabin) -> dict[str, MemberKind]:
    """The cabin's members beyond the walls and what each is."""
    if cabin.layout is None:
        return {}
    return {member.id: member.kind for member in layout_of(cabin).single_members}


def _target(one: Instruction) -> dict[str, Any]:
    """Where a pin lies, as it is stored."""
    return target_fields(one) | {"cabin": str(one["cabin"])}


def _pinned_there(log: Log, target: Mapping[str, Any]) -> Log | None:
    """Another log that the lead pinned to that place or member."""
    there = Log.objects.filter(crew=log.crew_id, instructions__contains=[{"kind": "pin", **target}])
    return there.exclude(id=log.id).exclude(state=LogState.GONE).first()


def _document(one: Instruction, cabins: Mapping[UUID, Cabin]) -> dict[str, Any]:
    cabin = None if one["cabin"] is None else cabins[one["cabin"]]
    return {
        **_EMPTY,
        **one,
        "cabin": None if cabin is None else str(cabin.id),
        "from_butt_mm": _near_mm(one),
        "text": _words(one, cabin),
    }


def _words(one: Instruction, cabin: Cabin | None) -> str:
    of = f" of {cabin.name}" if cabin else ""
    if one["kind"] == "pin":
        return f"Pinned to {_where(one)}{of}."
    if one["kind"] == "keep_for":
        return (
            f"Kept for {cabin.name}."
            if one["use"] == "cabin" and cabin
            else f"Kept for {_USES[one['use']]}{of}."
        )
    return "Not before it is peeled." if one["kind"] == "peel_first" else "Never in a wall."


def _where(one: Instruction) -> str:
    if one["member"] is not None:
        return f"the {one['member']}"
    beside = f", place {one['piece'] + 1}" if one["piece"] else ""
    return f"wall {one['wall']}, round {one['round']}{beside}"


@dataclass(frozen=True, slots=True, kw_only=True)
class LogUse:
    """Where a log is about to lie for good: a place of a wall, or a member."""

    cabin: Cabin
    wall: str | None = None
    round: int | None = None
    piece: int | None = None
    member: str | None = None

    @property
    def uses(self) -> set[str]:
        """The uses that this is."""
        found = {"cabin"}
        if self.member is not None:
            kind = _kinds(self.cabin).get(self.member)
            return found | ({kind.value} if kind else set())
        return found | {
            use for use, number in (("sill", 1), ("plate", self.cabin.rounds)) if number == self.round
        }

    @property
    def target(self) -> dict[str, Any]:
        fields = {name: getattr(self, name) for name in ("wall", "round", "piece", "member")}
        return target_fields({**fields, "cabin": str(self.cabin.id)})


def doubts_of_lead(log: Log, use: LogUse) -> list[Fault]:
    """Where laying the log there for good goes against what the lead said."""
    found = [
        fault("/log", f"The lead said of log {log.number}: {one['text']}", f"lead_{one['kind']}")
        for one in log.instructions
        if _is_against(log, one, use)
    ]
    other = _pinned_there(log, use.target)
    if other is not None:
        found.append(fault("/log", f"The lead pinned log {other.number} here.", "lead_pinned_another"))
    return found


def _is_against(log: Log, one: Instruction, use: LogUse) -> bool:
    is_here = one["cabin"] in (None, str(use.cabin.id))
    if one["kind"] == "pin":
        return any(one[name] != value for name, value in use.target.items())
    if one["kind"] == "keep_for":
        return not is_here or one["use"] not in use.uses
    if one["kind"] == "peel_first":
        return not is_peeled(log)
    return use.member is None


def is_peeled(log: Log) -> bool:
    """Whether the log is charted as peeled, or a piece of it is recorded so."""
    marked = log.prepared_pieces.filter(undone_at=None, marks__contains=[PieceMark.PEELED.value])
    return log.peeled or marked.exists()


def words_of_lead(logs: Iterable[Log]) -> list[LeadWord]:
    """What a lead said of these logs, as the planner takes it."""
    found = []
    for log in logs:
        kinds = {one["kind"] for one in log.instructions}
        if "peel_first" in kinds and not is_peeled(log):
            found.append(LeadWord(log=str(log.id)))
            continue
        placed = [_word(log, one) for one in log.instructions if one["kind"] in ("pin", "keep_for")]
        found += placed or [LeadWord(log=str(log.id)) for kind in kinds if kind == "never_in_wall"]
    return found


def _word(log: Log, one: Instruction) -> LeadWord:
    if one["kind"] == "keep_for":
        return LeadWord(log=str(log.id), use=one["use"], cabin=one["cabin"])
    place: PlaceKey = (one["cabin"], one["wall"] or "", one["round"] or 0, one["piece"] or 0)
    if one["member"] is not None:
        place = (one["cabin"], f"member:{one['member']}", 0, 0)
    return LeadWord(log=str(log.id), place=place, from_butt_mm=one["from_butt_mm"], butt_at=one["butt_at"])


def kinds_of_members(cabins: Iterable[Cabin]) -> dict[PlaceKey, str]:
    """The kind of each member's place, as the planner names it."""
    return {
        (str(cabin.id), f"member:{name}", 0, 0): kind.value
        for cabin in cabins
        for name, kind in _kinds(cabin).items()
    }
