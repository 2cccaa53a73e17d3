"""What is wrong or doubtful with a log that someone charts: faults refuse it, doubts wait to be confirmed."""

from collections.abc import Iterable
from typing import Any

from crews.api.problems import Fault, Refusal, fault
from inventory.core.finding import Finding
from inventory.logs.models import Log, LogState


class DoubtsUnconfirmed(Refusal):
    """This is possible but doubtful: look again, and send it with `confirm_doubtful` if it is right."""


# Changing what is charted about such a log changes what others count on.
_NO_LONGER_OURS = {
    LogState.SET: "the log is set in a wall, whose heights follow from its measures",
    LogState.CUT_UP: "the log is cut up; its measures belong to what was cut",
    LogState.GONE: "the log is gone",
}


def pointed(findings: Iterable[Finding]) -> list[Fault]:
    """Findings about one log's body as faults with pointers."""
    return [{**fault(one.pointer, one.text, str(one.code)), "read": one.read} for one in findings]


def ask_to_confirm(doubts: list[Fault], *, confirmed: bool) -> None:
    """Refuse while doubts are not confirmed."""
    if doubts and not confirmed:
        raise DoubtsUnconfirmed(errors=doubts)


def changed_fields(held: Log, fields: dict[str, Any]) -> list[str]:
    """Which of the fields differ from what is stored."""
    return [name for name, value in fields.items() if getattr(held, name) != value]


def doubts_of_change(held: Log, changed: Iterable[str]) -> list[Finding]:
    """Why someone should look again before they change these fields of a stored log."""
    told = [name for name in changed if name != "remarks"]
    doubts: list[Finding] = []

    def doubt(field: str, code: str, wrong: str) -> None:
        doubts.append(Finding(pointer=f"/{field}", code=code, read=held.number, text=wrong))

    if told and held.state in _NO_LONGER_OURS:
        doubt("number", f"log_{held.state}", _NO_LONGER_OURS[LogState(held.state)])
    if "culled" in told and held.culled:
        why = f": {held.cull_reason}" if held.cull_reason else ""
        doubt("culled", "cull_undone", f"the log was put aside as a cull{why}")
    elif "culled" in told and held.state == LogState.RESERVED:
        doubt("culled", "log_reserved", "the log is reserved for a cabin, and stays so as a cull")
    return doubts
