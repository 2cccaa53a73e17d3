"""The phrasings that both readers of a spoken line are held to, and what is written of their readings."""

import json
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

from inventory.core.measure import Unit, parse_length


@dataclass(frozen=True, slots=True)
class Phrasing:
    """What is said, the crew's unit, the fields wanted (lengths in mm) and why which field is asked."""

    text: str
    unit: Unit
    fields: dict[str, Any]
    asks: dict[str, str]


def phrasings() -> list[Phrasing]:
    """All of the file; its lengths are written with their units, as measure.py reads them."""
    told = json.loads(Path(__file__).with_name("phrasings.json").read_text())
    return [Phrasing(text, Unit(unit), _in_mm(fields), asks) for text, unit, fields, asks in told]


def _in_mm(value: Any, name: str = "") -> Any:
    if isinstance(value, dict):
        return {key: _in_mm(one, key) for key, one in value.items()}
    if isinstance(value, list):
        return [_in_mm(one) for one in value]
    if name.endswith("_mm") and value is not None:
        return float(parse_length(value, default_unit=Unit.MM))
    return value


def as_json(value: Any) -> Any:
    """Fields as JSON has them: numbers for decimals."""
    return json.loads(
        json.dumps(value, default=lambda one: float(one) if isinstance(one, Decimal) else str(one))
    )
