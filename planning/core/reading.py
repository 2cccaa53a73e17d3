"""Reads values out of parsed JSON and names every fault with its place (`/cabins/0/walls/2/length`)."""

from __future__ import annotations

import math
from collections.abc import Set
from dataclasses import dataclass, field
from typing import Any

from inventory.core.finding import Finding


class UnreadableFile(ValueError):
    """A problem or plan file that cannot be planned with; `faults` names everything wrong in it."""

    def __init__(self, faults: list[Finding]) -> None:
        self.faults = faults
        super().__init__("; ".join(f"{fault.pointer or '/'}: {fault.text}" for fault in faults[:10]))


@dataclass(frozen=True, slots=True)
class Reader:
    """One spot of the document; asks for parts of it and collects faults in a list shared by all spots."""

    value: Any
    pointer: str = ""
    faults: list[Finding] = field(default_factory=list)

    def blame(self, reason: str, key: str | int | None = None) -> None:
        pointer = self.pointer if key is None else f"{self.pointer}/{key}"
        self.faults.append(Finding(pointer=pointer, text=reason))

    def fields(self, *, required: set[str], optional: Set[str] = frozenset()) -> bool:
        """Whether this is an object with the fields required; unknown ones are faults too."""
        if not isinstance(self.value, dict):
            self.blame("must be an object")
            return False
        for key in sorted(required - self.value.keys()):
            self.blame("is missing", key)
        for key in sorted(self.value.keys() - required - optional):
            self.blame("is not known", key)
        return required <= self.value.keys()

    def items(self, key: str) -> list[Reader]:
        """The entries of a list; an absent one is empty."""
        entries = self.value.get(key, [])
        if not isinstance(entries, list):
            self.blame("must be a list", key)
            return []
        return [Reader(entry, f"{self.pointer}/{key}/{i}", self.faults) for i, entry in enumerate(entries)]

    def child(self, key: str) -> Reader:
        return Reader(self.value.get(key), f"{self.pointer}/{key}", self.faults)

    def number(
        self,
        key: str | int,
        *,
        least: float | None = None,
        above: float | None = None,
        most: float | None = None,
        default: float = 1.0,
    ) -> float:
        """A finite number within its bounds; a fault otherwise, and `default` so that reading goes on."""
        found = self.value[key] if isinstance(key, int) else self.value.get(key)
        if isinstance(found, bool) or not isinstance(found, int | float) or not math.isfinite(found):
            self.blame("must be a number", key)
            return default
        if least is not None and found < least:
            self.blame(f"must be {least:g} or more", key)
        elif above is not None and found <= above:
            self.blame(f"must be more than {above:g}", key)
        elif most is not None and found > most:
            self.blame(f"must be {most:g} or less", key)
        else:
            return float(found)
        return default

    def whole(self, key: str | int, *, least: int, most: int = 10_000) -> int:
        number = self.number(key, least=least, most=most, default=least)
        if number != int(number):
            self.blame("must be a whole number", key)
        return int(number)

    def text(self, key: str) -> str:
        found = self.value.get(key)
        if not isinstance(found, str) or not found:
            self.blame("must be a text", key)
            return ""
        return found

    def choice(self, key: str, allowed: tuple[str, ...]) -> Any:
        found = self.value.get(key)
        if found not in allowed:
            self.blame(f"must be one of {', '.join(allowed)}", key)
            return allowed[0]
        return found

    def truth(self, key: str) -> bool:
        found = self.value.get(key, False)
        if not isinstance(found, bool):
            self.blame("must be true or false", key)
            return False
        return found

    def pair(self, key: str, *, least: float | None = None) -> tuple[float, float]:
        """Two numbers, the second not below the first."""
        found = self.value.get(key)
        if not isinstance(found, list) or len(found) != 2:
            self.blame("must be a list of two numbers", key)
            return (0.0, 1.0)
        spot = Reader(found, f"{self.pointer}/{key}", self.faults)
        first, second = spot.number(0, least=least), spot.number(1, least=least)
        if second < first:
            self.blame("must not fall", key)
        return (first, second)
