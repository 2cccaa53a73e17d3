"""Times as the API reads them."""

from datetime import datetime
from typing import Any

from django.utils.timezone import is_naive
from rest_framework import serializers


class TimeField(serializers.DateTimeField):
    """A moment with its zone (RFC 3339). Without one, a phone's local time would be hours off."""

    default_error_messages = {
        "no_zone": "A time says its zone: end it with Z for UTC, or with the offset, as in +02:00."
    }

    def enforce_timezone(self, value: datetime) -> Any:
        if is_naive(value):
            self.fail("no_zone")
        return super().enforce_timezone(value)
