"""Names of racks, species and logs: one line, as a chart's cell can hold it."""

import re
from typing import Any

from rest_framework import serializers

_UNSEEN = re.compile(r"[\x00-\x1f\x7f]")


class NameField(serializers.CharField):
    """A name on one line; runs of blanks count as one."""

    default_error_messages = {"several_lines": "A name is one line without control characters."}

    def to_internal_value(self, data: Any) -> str:
        text = super().to_internal_value(data)
        if _UNSEEN.search(text):
            self.fail("several_lines")
        return " ".join(text.split())
