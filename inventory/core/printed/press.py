"""The press: sets a sheet's data by its template as PDF. Texts go in as data and are never read as markup."""

import json
import re
from collections.abc import Mapping, Sequence
from enum import StrEnum
from pathlib import Path
from textwrap import wrap
from typing import Any

from inventory.core.printed.typesetter import typeset

_LONG_WORD = re.compile(r"[^\s/,;-]{18,}")
# The blank inside `19' 4 1/2"`, `5.89 m` or `310 kg`.
_IN_A_LENGTH = re.compile(r"(?<=[\d']) (?=(?:mm|cm|m|m³|ft³|kg|t|lb)(?!\w)|\d+/\d|\d+\"|(?<=' )\d)")


class Paper(StrEnum):
    """The paper a sheet is printed on."""

    A4 = "a4"
    LETTER = "letter"


# What typst calls them.
_PAPERS = {Paper.A4: "a4", Paper.LETTER: "us-letter"}


def print_sheet(template: Path, data: Mapping[str, Any], *, paper: Paper) -> bytes:
    """The sheet as PDF. `data` is plain JSON; the template reads it and the paper's name from its inputs."""
    inputs = {"sheet": json.dumps(_breakable(data)), "paper": _PAPERS[paper]}
    return typeset(template, inputs)


def _breakable(value: Any) -> Any:
    """The same data, broken into lines where a reader would: a length never, a word too long anywhere."""
    if isinstance(value, str):
        return value if value.startswith("<?xml") else _set_apart(value)
    if isinstance(value, Mapping):
        return {key: _breakable(one) for key, one in value.items()}
    if isinstance(value, Sequence):
        return [_breakable(one) for one in value]
    return value


def _set_apart(text: str) -> str:
    whole = _IN_A_LENGTH.sub("\N{NO-BREAK SPACE}", text)
    return _LONG_WORD.sub(lambda word: "\N{ZERO WIDTH SPACE}".join(wrap(word[0], 8)), whole)
