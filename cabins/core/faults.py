"""Faults of a layout document: one named fault per mistake, and the readers that find them in raw JSON."""

import math
from collections.abc import Mapping, Sequence
from enum import StrEnum
from typing import TypeVar

from inventory.core.crew_units import Sentence
from inventory.core.finding import Finding

Choice = TypeVar("Choice", bound=StrEnum)

LONGEST_ID = 40
TAILS_COLLIDE = "tails_collide"
# Found faults only after layouts were stored with them: what stands is read all the same.
LATER_FAULTS = frozenset({TAILS_COLLIDE})


class LayoutFaults(ValueError):
    """The layout has faults. `faults` names every one of them."""

    def __init__(self, faults: Sequence[Finding]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(f"{fault.pointer or '/'}: {fault.text}" for fault in self.faults))


class Faults:
    """A list that faults are noted in while a document is read; those of the codes in `passes` are not."""

    def __init__(self, *, passes: frozenset[str] = frozenset()) -> None:
        self.found: list[Finding] = []
        self.passes = passes

    def note(self, pointer: str, code: str, message: str) -> None:
        """Note one fault."""
        if code in self.passes:
            return
        self.found.append(Finding(pointer=pointer, code=code, text=message))


def read_object(
    raw: object, *, pointer: str, required: Sequence[str], optional: Sequence[str] = (), faults: Faults
) -> Mapping[str, object] | None:
    """The object at `pointer`, or None. Missing and unknown fields are noted as faults."""
    if not isinstance(raw, Mapping):
        faults.note(pointer, "not_an_object", "An object with named fields is expected here.")
        return None
    for key in raw:
        if key not in required and key not in optional:
            step = str(key).replace("~", "~0").replace("/", "~1")
            faults.note(f"{pointer}/{step}", "unknown_field", f"There is no field {str(key)!r} here.")
    for key in required:
        if key not in raw:
            faults.note(f"{pointer}/{key}", "missing", f"The field {key!r} is missing.")
    return raw


def read_list(
    fields: Mapping[str, object], key: str, *, pointer: str, largest: int, faults: Faults
) -> Sequence[object]:
    """The list in field `key`; empty where it is missing or no list."""
    raw = fields.get(key, [])
    if not isinstance(raw, list | tuple):
        faults.note(f"{pointer}/{key}", "not_a_list", "A list is expected here.")
        return []
    if len(raw) > largest:
        faults.note(f"{pointer}/{key}", "too_many", f"At most {largest} are taken; there are {len(raw)}.")
        return []
    return raw


def read_flag(fields: Mapping[str, object], key: str, *, pointer: str, faults: Faults) -> bool:
    """True or false in field `key`; false where it is missing or neither."""
    told = fields.get(key, False)
    if not isinstance(told, bool):
        faults.note(f"{pointer}/{key}", "not_true_or_false", "True or false is expected here.")
        return False
    return told


def read_number(
    fields: Mapping[str, object], key: str, *, pointer: str, smallest: float, largest: float, faults: Faults
) -> float | None:
    """The finite number in field `key`, within limits, or None."""
    if key not in fields:
        return None
    raw, here = fields[key], f"{pointer}/{key}"
    if isinstance(raw, bool) or not isinstance(raw, int | float) or not math.isfinite(_as_float(raw)):
        faults.note(here, "not_a_number", f"A number is expected here, not {_shown(raw)}.")
        return None
    value = _as_float(raw)
    if value < smallest:
        faults.note(
            here,
            "too_small",
            _limit(key, "{value} is too small; at least {limit} is needed.", value, smallest),
        )
        return None
    if value > largest:
        faults.note(
            here, "too_large", _limit(key, "{value} is too large; at most {limit} is taken.", value, largest)
        )
        return None
    return value


def _limit(key: str, words: str, value: float, limit: float) -> str:
    # A length is said in the units of whoever drew the layout, any other number as it is.
    way = "along" if key.endswith("_mm") else "g"
    for part in ("value", "limit"):
        words = words.replace(f"{{{part}}}", f"{{{part}:{way}}}")
    return Sentence(words, value=value, limit=limit)


def read_whole_number(
    fields: Mapping[str, object], key: str, *, pointer: str, smallest: int, largest: int, faults: Faults
) -> int | None:
    """The whole number in field `key`, or None (also for null)."""
    if fields.get(key) is None:
        return None
    value = read_number(
        fields, key, pointer=pointer, smallest=float(smallest), largest=float(largest), faults=faults
    )
    if value is not None and value != int(value):
        faults.note(f"{pointer}/{key}", "not_whole", f"A whole number is expected here, not {value:g}.")
        return None
    return None if value is None else int(value)


def read_name(fields: Mapping[str, object], key: str, *, pointer: str, faults: Faults) -> str | None:
    """The name in field `key`: text without blanks at its ends, at most 40 characters."""
    if key not in fields:
        return None
    raw = fields[key]
    if not isinstance(raw, str) or not raw or raw != raw.strip() or not raw.isprintable():
        faults.note(f"{pointer}/{key}", "not_a_name", f"A name is expected here, not {_shown(raw)}.")
        return None
    if len(raw) > LONGEST_ID:
        faults.note(f"{pointer}/{key}", "too_long", f"A name has at most {LONGEST_ID} characters.")
        return None
    return raw


def read_choice(
    fields: Mapping[str, object], key: str, *, pointer: str, choices: type[Choice], faults: Faults
) -> Choice | None:
    """The word in field `key`, one of `choices`, or None."""
    if key not in fields:
        return None
    raw = fields[key]
    for choice in choices:
        if raw == choice.value:
            return choice
    words = ", ".join(choice.value for choice in choices)
    faults.note(f"{pointer}/{key}", "not_a_choice", f"One of {words} is expected here, not {_shown(raw)}.")
    return None


def _as_float(raw: int | float) -> float:
    # Python's integers have no bound; one beyond a float's range is no size of a cabin.
    try:
        return float(raw)
    except OverflowError:
        return math.inf


def _shown(raw: object) -> str:
    # A fault message repeats what was read, but a message is no place for a whole document.
    text = repr(raw) if not isinstance(raw, int) or isinstance(raw, bool) else "a number beyond all sizes"
    return text if len(text) <= 40 else text[:37] + "..."
