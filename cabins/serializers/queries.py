"""What sheets ask for, as query parameters, and how the schema describes them."""

import math
from typing import Any

from drf_spectacular.utils import OpenApiParameter
from rest_framework import serializers

from cabins.core.settling_rules import RULES
from cabins.models import End
from config.api.reading import QueryIn
from inventory.core.measure import BadLength, Unit, parse_length

MOST_POSTS = 50


class LengthQuery(serializers.Field[float, Any, Any, Any]):
    """A length in a query: a plain number is millimetres."""

    def to_internal_value(self, data: Any) -> float:
        try:
            return float(parse_length(str(data), default_unit=Unit.MM))
        except BadLength as bad:
            raise serializers.ValidationError(str(bad), code="unreadable_length") from bad


class NumberQuery(serializers.FloatField):
    """A finite number in a query."""

    def to_internal_value(self, data: Any) -> float:
        value = float(super().to_internal_value(data))
        if not math.isfinite(value):
            self.fail("invalid")
        return value


class PostsQuery(serializers.Field[list[float], Any, Any, Any]):
    """Heights of posts: lengths with commas between them."""

    def to_internal_value(self, data: Any) -> list[float]:
        texts = str(data).split(",")
        if len(texts) > MOST_POSTS:
            raise serializers.ValidationError(f"At most {MOST_POSTS} posts.")
        try:
            return [float(parse_length(text, default_unit=Unit.MM)) for text in texts]
        except BadLength as bad:
            raise serializers.ValidationError(str(bad), code="unreadable_length") from bad


class SheetQuery(QueryIn):
    wall = serializers.CharField()
    round = serializers.IntegerField(min_value=1, max_value=1000)
    piece = serializers.IntegerField(min_value=0, max_value=1000, default=0)
    log = serializers.UUIDField()
    from_butt_mm = LengthQuery(default=25.0)
    butt_at = serializers.ChoiceField(End.choices, default=End.START)
    reach_mm = LengthQuery(default=None)


class CornerQuery(QueryIn):
    thickness_mm = LengthQuery(default=None)
    underscribe_mm = LengthQuery(default=0.0)
    overscribe_mm = LengthQuery(default=0.0)
    slope = NumberQuery(default=0.2)
    back_slope = NumberQuery(default=0.1)
    top_share = NumberQuery(default=0.5)


class SettlingQuery(QueryIn):
    rule = serializers.ChoiceField(sorted(RULES), default="mp579")
    species = serializers.UUIDField(default=None)
    moisture_now_pct = NumberQuery(default=None)
    moisture_expected_pct = NumberQuery(default=None)
    temperature_c = NumberQuery(default=None)
    humidity_pct = NumberQuery(default=None)
    code_low_pct = NumberQuery(default=None)
    code_high_pct = NumberQuery(default=None)
    code_title = serializers.CharField(max_length=200, default="")
    posts_mm = PostsQuery(default=[])


_LENGTH = "In mm, or with its unit (`2 1/2 in`)."


def _one(
    name: str, text: str, kind: str = "string", *, required: bool = False, **more: Any
) -> OpenApiParameter:
    return OpenApiParameter(name, {"type": kind, **more}, description=text, required=required)


SHEET_PARAMETERS = [
    _one("wall", "The wall's id.", required=True),
    _one("round", "The round, from 1.", "integer", required=True),
    _one("piece", "Numbered from 0 at the wall's start.", "integer", default=0),
    _one("log", "The log to try.", required=True, format="uuid"),
    _one("from_butt_mm", f"From the log's butt to the piece's end nearest it. {_LENGTH}", default="25"),
    _one("butt_at", "Towards which end of the wall the butt lies.", enum=End.values, default="start"),
    _one("reach_mm", f"The height to reach; the level line if not given. {_LENGTH}"),
]
CORNER_PARAMETERS = [
    _one("thickness_mm", f"Of logs hewn or sawn on two faces. {_LENGTH}"),
    _one("underscribe_mm", f"How much deeper the notch is cut than the heights ask. {_LENGTH}", default="0"),
    _one("overscribe_mm", f"The same for the groove. {_LENGTH}", default="0"),
    _one("slope", "Of a dovetail's seat towards the outside, rise over run.", "number", default=0.2),
    _one("back_slope", "Of a full dovetail's seat along the lower log.", "number", default=0.1),
    _one("top_share", "Share of a dovetail's depth taken from the lower log.", "number", default=0.5),
]
SETTLING_PARAMETERS = [
    _one("rule", "The rule for what to leave.", enum=sorted(RULES), default="mp579"),
    _one("species", "Of the logs; needed unless those set are of one.", format="uuid"),
    _one("moisture_now_pct", "As measured; green if not given.", "number"),
    _one("moisture_expected_pct", "In service.", "number"),
    _one("temperature_c", "Of the air in service, with humidity_pct instead of a moisture.", "number"),
    _one("humidity_pct", "Of the air in service.", "number"),
    _one("code_low_pct", "The local code's allowance in percent of height; it governs.", "number"),
    _one("code_high_pct", "Its upper end.", "number"),
    _one("code_title", "The name of the code."),
    _one("posts_mm", "Heights of posts, with commas between: `2400,2100`."),
]
