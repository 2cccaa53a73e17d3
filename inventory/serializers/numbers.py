"""Numbers as the API reads them in a query."""

import math
from typing import Any

from rest_framework import serializers


class NumberField(serializers.FloatField):
    """A number; a text such as `nan` or `inf`, which floats read, is none."""

    def to_internal_value(self, data: Any) -> float:
        value = float(super().to_internal_value(data))
        if not math.isfinite(value):
            self.fail("invalid")
        return value
