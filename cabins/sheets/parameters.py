"""What sheets ask for, as query parameters, and how the schema describes them."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import OpenApiParameter
from rest_framework import serializers

from cabins.core.settling_rules import RULES
from cabins.set_logs.models import End
from crews.api.reading import QueryIn
from inventory.core.measure import BadLength, Unit, parse_length
from inventory.logs.fields import NumberField

MOST_POSTS = 50
MOST_YARDS = 50


class LengthQuery(serializers.Field[float, Any, Any, Any]):
    """A length in a query: a plain number is millimetres."""

    def to_internal_value(self, data: Any) -> float:
        try:
            return float(parse_length(str(data), default_unit=Unit.MM))
        except BadLength as bad:
            raise serializers.ValidationError(str(bad), code="unreadable_length") from bad


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


class PostsAtQuery(serializers.Field[list[tuple[str, float]], Any, Any, Any]):
    """Posts beside walls: `A:2500,C:8 ft`, the wall's id and the position along it from its start corner."""

    def to_internal_value(self, data: Any) -> list[tuple[str, float]]:
        texts = str(data).split(",")
        if len(texts) > MOST_POSTS:
            raise serializers.ValidationError(f"At most {MOST_POSTS} posts.")
        return [self._one(text) for text in texts]

    def _one(self, text: str) -> tuple[str, float]:
        wall, colon, at = text.rpartition(":")
        if not colon:
            raise serializers.ValidationError("A post beside a wall is written as wall:position, A:2500.")
        try:
            return wall.strip(), float(parse_length(at, default_unit=Unit.MM))
        except BadLength as bad:
            raise serializers.ValidationError(str(bad), code="unreadable_length") from bad


class YardsQuery(serializers.Field[list[UUID], Any, Any, Any]):
    """Ids of yards with commas between them."""

    def to_internal_value(self, data: Any) -> list[UUID]:
        texts = str(data).split(",")
        if len(texts) > MOST_YARDS:
            raise serializers.ValidationError(f"At most {MOST_YARDS} yards.")
        return [_one_id(text) for text in texts]


def _one_id(text: str) -> UUID:
    try:
        return UUID(text.strip())
    except ValueError as bad:
        raise serializers.ValidationError(f"{text.strip()!r} is no yard's id.") from bad


class EstimateQuery(QueryIn):
    yard = YardsQuery()


class CheckQuery(QueryIn):
    yard = YardsQuery(default=[])


class SheetQuery(QueryIn):
    wall = serializers.CharField()
    round = serializers.IntegerField(min_value=0, max_value=1000)
    piece = serializers.IntegerField(min_value=0, max_value=1000, default=0)
    log = serializers.UUIDField()
    from_butt_mm = LengthQuery(default=25.0)
    butt_at = serializers.ChoiceField(End.choices, default=End.START)
    reach_mm = LengthQuery(default=None)


class CornerQuery(QueryIn):
    thickness_mm = LengthQuery(default=None)
    underscribe_mm = LengthQuery(default=None)
    overscribe_mm = LengthQuery(default=None)
    slope = NumberField(default=None)
    back_slope = NumberField(default=None)
    top_share = NumberField(default=None)


class SettlingQuery(QueryIn):
    rule = serializers.ChoiceField(sorted(RULES), default=None)
    species = serializers.UUIDField(default=None)
    moisture_now_pct = NumberField(default=None)
    moisture_expected_pct = NumberField(default=None)
    temperature_c = NumberField(default=None)
    humidity_pct = NumberField(default=None)
    code_low_pct = NumberField(default=None)
    code_high_pct = NumberField(default=None)
    code_title = serializers.CharField(max_length=200, default=None)
    bedding_low_pct = NumberField(default=None)
    bedding_high_pct = NumberField(default=None)
    posts_mm = PostsQuery(default=[])
    posts_at = PostsAtQuery(default=[])


_LENGTH = "In mm, or with its unit (`2 1/2 in`)."


def _else(usual: str) -> str:
    return f"Else the crew's choice, else {usual}."


def _yards(words: str, *, required: bool = False) -> OpenApiParameter:
    return OpenApiParameter(
        "yard",
        {"type": "array", "items": {"type": "string", "format": "uuid"}, "maxItems": MOST_YARDS},
        description=f"{words}: one, or several with commas between.",
        required=required,
        style="form",
        explode=False,
    )


def _one(
    name: str, text: str, kind: str = "string", *, required: bool = False, **more: Any
) -> OpenApiParameter:
    return OpenApiParameter(name, {"type": kind, **more}, description=text, required=required)


ESTIMATE_PARAMETERS = [_yards("The yards whose free logs are to be used", required=True)]
CHECK_PARAMETERS = [
    _yards("The yards of whose free logs heights are expected (without: of the layout's middle diameter)")
]
SHEET_PARAMETERS = [
    _one("wall", "The wall's id.", required=True),
    _one("round", "From 1; half logs lie in 0, or in the one over the last.", "integer", required=True),
    _one("piece", "Numbered from 0 at the wall's start.", "integer", default=0),
    _one("log", "The log to try.", required=True, format="uuid"),
    _one("from_butt_mm", f"From the log's butt to the piece's end nearest it. {_LENGTH}", default="25"),
    _one("butt_at", "Towards which end of the wall the butt lies.", enum=End.values, default="start"),
    _one("reach_mm", f"The height to reach; else the plan's own, without one the level line. {_LENGTH}"),
]
CORNER_PARAMETERS = [
    _one("thickness_mm", f"Of logs hewn or sawn on two faces; else as those set were. {_LENGTH}"),
    _one("underscribe_mm", f"How much deeper the notch is cut than the heights ask. {_LENGTH} {_else('0')}"),
    _one("overscribe_mm", f"The same for the groove. {_LENGTH} {_else('0')}"),
    _one("slope", f"Of a dovetail's seat towards the outside, rise over run. {_else('0.2')}", "number"),
    _one("back_slope", f"Of a full dovetail's seat along the lower log. {_else('0.1')}", "number"),
    _one("top_share", f"Share of a dovetail's depth taken from the lower log. {_else('0.5')}", "number"),
]
SETTLING_PARAMETERS = [
    _one("rule", f"The rule for what to leave. {_else('mp579')}", enum=sorted(RULES)),
    _one("species", "Of the logs; else every species that a log set is of.", format="uuid"),
    _one("moisture_now_pct", f"As measured. {_else('green')}", "number"),
    _one("moisture_expected_pct", f"In service. {_else('12')}", "number"),
    _one("temperature_c", "Of the air in service, with humidity_pct instead of a moisture.", "number"),
    _one("humidity_pct", "Of the air in service.", "number"),
    _one("code_low_pct", "The local code's allowance in percent of height; it governs.", "number"),
    _one("code_high_pct", "Its upper end.", "number"),
    _one("code_title", f"The name of the code. {_else('no code')}"),
    _one("bedding_low_pct", f"Least bedding down, percent of height. {_else('0')}", "number"),
    _one("bedding_high_pct", f"Most bedding down. {_else('1')}", "number"),
    _one("posts_mm", "Heights of posts, with commas between: `2400,2100`."),
    _one("posts_at", "Posts beside walls, which are as high as the logs there: `A:2500,C:8 ft`."),
]
