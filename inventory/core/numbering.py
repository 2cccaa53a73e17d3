"""Numbers for logs that come into a yard: they go on where the yard's own numbers end."""

import re
from collections import Counter
from collections.abc import Collection
from itertools import count, islice

_COUNTED = re.compile(r"(.*?)([0-9]{1,9})")


class BadNumber(ValueError):
    """Numbers cannot go on from this one."""


def numbers_after(taken: Collection[str], *, how_many: int, first: str | None = None) -> tuple[str, ...]:
    """The next numbers of a yard: from `first` on, or after the largest one of its commonest beginning.

    A7 is followed by A8, W-099 by W-100; an empty yard begins with 1. Numbers already taken are passed over,
    whatever the case of their letters. Raises BadNumber for a first number that does not end in digits.
    """
    start, least, width = _named(first) if first is not None else _after(taken)
    held = {_key(number) for number in taken}
    free = (number for number in (f"{start}{n:0{width}d}" for n in count(least)) if _key(number) not in held)
    return tuple(islice(free, how_many))


def _named(first: str) -> tuple[str, int, int]:
    found = _COUNTED.fullmatch(first)
    if not found:
        raise BadNumber(f"{first!r} does not end in a number to count on from")
    return found[1], int(found[2]), len(found[2]) if found[2].startswith("0") else 1


def _after(taken: Collection[str]) -> tuple[str, int, int]:
    found = [match for number in taken if (match := _COUNTED.fullmatch(number))]
    if not found:
        return "", 1, 1
    starts = Counter(match[1] for match in found)
    most = max(starts.values())
    start = max(start for start, times in starts.items() if times == most)
    digits = [match[2] for match in found if match[1] == start]
    padded = [len(one) for one in digits if one.startswith("0")]
    return start, max(int(one) for one in digits) + 1, max(padded, default=1)


def _key(number: str) -> str:
    return " ".join(number.casefold().split())
