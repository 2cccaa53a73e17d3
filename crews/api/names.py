"""Names, of crews, people, cabins, yards, racks and logs: one line, as a chart's cell can hold it."""

import unicodedata
from typing import Any

from rest_framework import serializers

# Control, format (invisible, or turning the direction of writing), private, lines and paragraphs.
_UNSEEN = {"Cc", "Cf", "Co", "Cs", "Zl", "Zp"}


class NameField(serializers.CharField):
    """A name on one line; runs of blanks count as one."""

    default_error_messages = {"several_lines": "A name is one line of signs that can be seen."}

    def to_internal_value(self, data: Any) -> str:
        text = super().to_internal_value(data)
        if any(unicodedata.category(sign) in _UNSEEN for sign in text):
            self.fail("several_lines")
        return " ".join(text.split())
