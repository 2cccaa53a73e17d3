"""Money as the API reads and writes it: exact decimals as texts, because clients read numbers as floats."""

import re
from decimal import Decimal
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

MOST = Decimal(10_000_000)
PLACES = 4
_WRITTEN = re.compile(r"-?[0-9]{1,20}(?:\.[0-9]{1,20})?")


@extend_schema_field(
    {
        "type": ["string", "number"],
        "maxLength": 40,
        "description": f"A price, exact, with at most {PLACES} decimals: `0.8250`.",
    }
)
class PriceField(serializers.Field[Decimal, Any, Any, Any]):
    """A price that is not negative; a text or a number."""

    default_error_messages = {
        "not_a_price": "A price is a number such as 0.825, or the same as a text.",
        "too_small": "A price is not negative.",
        "too_large": "A price here is at most {most}.",
        "too_fine": "A price has at most {places} decimals.",
    }

    def to_internal_value(self, data: Any) -> Decimal:
        if isinstance(data, bool) or not isinstance(data, str | int | float):
            self.fail("not_a_price")
        if isinstance(data, str) and not _WRITTEN.fullmatch(data):
            self.fail("not_a_price")
        price = Decimal(data if isinstance(data, str) else repr(data))
        if not price.is_finite():
            self.fail("not_a_price")
        if price < 0:
            self.fail("too_small")
        if price > MOST:
            self.fail("too_large", most=MOST)
        kept = price.quantize(Decimal(1).scaleb(-PLACES))
        if kept != price:
            self.fail("too_fine", places=PLACES)
        return kept


class MoneyOut(serializers.CharField):
    """An exact amount as a text: `1284.50`."""
