"""Times as the API reads them, and the zone in which paper tells them."""

from collections.abc import Mapping
from datetime import datetime
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo, available_timezones

from django.utils.timezone import is_naive, now
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


ZONE_HELP = "Where the paper is read, such as `America/Vancouver`: its times are of there. Else UTC."


class ZoneField(serializers.CharField):
    """The name of a time zone (IANA)."""

    default_error_messages = {"unknown": "No such time zone; one is America/Vancouver."}

    def to_internal_value(self, data: Any) -> str:
        name = super().to_internal_value(data)
        if name not in _zones():
            self.fail("unknown")
        return name


@cache
def _zones() -> set[str]:
    return available_timezones()


def now_there(asked: Mapping[str, Any]) -> datetime:
    """This moment in the `zone` that was asked for, else in UTC."""
    zone = asked.get("zone")
    return now().astimezone(ZoneInfo(zone)) if zone else now()
