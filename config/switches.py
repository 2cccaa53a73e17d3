"""Reads the switches that come as environment variables; what cannot be meant is refused in one sentence."""

import os
from collections.abc import Sequence
from pathlib import Path

from django.core.exceptions import ImproperlyConfigured

_ON, _OFF = ("1", "true", "yes", "on"), ("0", "false", "no", "off")


def cores() -> int:
    """The processor's cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


class SwitchRefused(ImproperlyConfigured):
    """A switch has a value that cannot be meant; the message names both, and what the switch takes."""


def text(name: str, default: str = "") -> str:
    """The switch as it stands; empty counts as not given."""
    return os.environ.get(name) or default


def secret(name: str, default: str = "") -> str:
    """The switch, or what the file holds that NAME_FILE names. Raises SwitchRefused for both or no file."""
    file = text(f"{name}_FILE")
    if not file:
        return text(name, default)
    if text(name):
        raise SwitchRefused(f"{name} and {name}_FILE are both given; one of them is enough.")
    try:
        return Path(file).read_text().strip() or default
    except (OSError, UnicodeDecodeError) as fault:
        raise SwitchRefused(f"{name}_FILE names {file}, which cannot be read: {fault}.") from fault


def words(name: str, default: str = "") -> list[str]:
    """A list, parted by commas."""
    return [word.strip() for word in text(name, default).split(",") if word.strip()]


def is_on(name: str, *, default: bool = False) -> bool:
    """Whether it is switched on. Raises SwitchRefused for anything but the words for on and off."""
    value = text(name).strip().lower()
    if not value:
        return default
    if value not in _ON + _OFF:
        raise _refused(name, f"one of {' '.join(_ON)} or {' '.join(_OFF)}")
    return value in _ON


def whole_number(name: str, default: int, *, least: int, most: int) -> int:
    """A whole number from `least` to `most`. Raises SwitchRefused for anything else."""
    value = text(name, str(default)).strip()
    if not value.isascii() or not value.isdigit() or not least <= int(value[:12]) <= most:
        raise _refused(name, f"a whole number from {least} to {most}")
    return int(value)


def seconds(name: str, default: float, *, most: float) -> float:
    """A time above 0 and up to `most`, in seconds. Raises SwitchRefused for anything else."""
    try:
        value = float(text(name, str(default)))
    except ValueError:
        value = 0.0
    if not 0 < value <= most:  # also false for what is no number
        raise _refused(name, f"seconds, above 0 and up to {most:g}")
    return value


def one_of(name: str, default: str, choices: Sequence[str]) -> str:
    """One of `choices`, in whatever case it is written. Raises SwitchRefused for anything else."""
    value = text(name, default).strip()
    for choice in choices:
        if value.lower() == choice.lower():
            return choice
    raise _refused(name, f"one of {', '.join(choices)}")


def _refused(name: str, takes: str) -> SwitchRefused:
    return SwitchRefused(f'{name} takes {takes}; it is "{os.environ.get(name)}".')
