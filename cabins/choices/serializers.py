"""What a crew's choices for its walls look like from outside: settling, notches, rules of grain."""

from decimal import Decimal

from rest_framework import serializers

from cabins.choices.errors import RECORD, WAY
from cabins.core.cutting import (
    HAZARD_CLEAR_LIMITS_MM,
    KERF_LIMITS_MM,
    PIECES_LIMITS,
    TRIM_LIMITS_MM,
)
from cabins.core.grain import RULES as GRAIN_RULES
from cabins.core.grain import GrainWeight
from cabins.core.layout_reading import CUT_SHARES, LEAST_PIECE_MOST_MM, RUN_WILD_MOST_MM
from cabins.core.settling_rules import RULES
from cabins.core.sources import SourceMark
from crews.accounts.crew_settings import CREW, DEFAULT
from crews.api.bounds import BoundedMap
from crews.api.reading import BodyIn, RowOut
from inventory.core.crew_errors import TopReading
from inventory.logs.fields import LengthField

SETTLING_RULES = [(rule, rule) for rule in sorted(RULES)]
GRAIN_WEIGHTS = [(weight.value, weight.value) for weight in GrainWeight]
MARKS = [(mark.value, mark.value) for mark in SourceMark]
_MOST_SCRIBE_MM = Decimal(100)
_LEAST_ERROR_MM, _MOST_ERROR_MM = Decimal("0.1"), Decimal(50)
_OR_RECORD = "Null: by the crew's own record of 30 or more measured tops, else"
CHOSEN_BY = [(by, by) for by in (CREW, RECORD, WAY, DEFAULT)]
TOP_READINGS = [(way.value, way.value) for way in TopReading]


def _percent(most: int, text: str) -> serializers.DecimalField:
    return serializers.DecimalField(
        max_digits=5,
        decimal_places=2,
        min_value=Decimal(0),
        max_value=Decimal(most),
        required=False,
        allow_null=True,
        help_text=text,
    )


def _share(text: str) -> serializers.DecimalField:
    return serializers.DecimalField(
        max_digits=5,
        decimal_places=4,
        min_value=Decimal(0),
        max_value=Decimal(1),
        required=False,
        allow_null=True,
        help_text=text,
    )


def _run() -> serializers.DecimalField:
    return serializers.DecimalField(
        max_digits=5, decimal_places=1, min_value=Decimal(1), required=False, allow_null=True
    )


def _error(text: str) -> LengthField:
    return LengthField(
        required=False, allow_null=True, least_mm=_LEAST_ERROR_MM, most_mm=_MOST_ERROR_MM, help_text=text
    )


def _scribe(text: str) -> LengthField:
    return LengthField(required=False, allow_null=True, most_mm=_MOST_SCRIBE_MM, help_text=text)


def _cut(limits_mm: tuple[int, int], text: str) -> LengthField:
    least, most = limits_mm
    return LengthField(
        required=False,
        allow_null=True,
        least_mm=Decimal(least),
        most_mm=Decimal(most),
        help_text=f"{text} (common practice, no source).",
    )


class WallSettingsIn(BodyIn):
    rule = serializers.ChoiceField(
        SETTLING_RULES, required=False, allow_null=True, help_text="The rule for what to leave. Null: mp579."
    )
    code_title = serializers.CharField(
        max_length=200, required=False, allow_null=True, help_text="The local code's name; the code governs."
    )
    code_low_pct = _percent(20, "Its allowance in percent of height. Null: no code.")
    code_high_pct = _percent(20, "Its upper end.")
    bedding_low_pct = _percent(25, "Least bedding down, percent of height. Null: 0.")
    bedding_high_pct = _percent(25, "Most bedding down. Null: 1.")
    moisture_now_pct = _percent(400, "Moisture of the logs as measured. Null: green.")
    moisture_expected_pct = _percent(400, "Moisture in service. Null: 12.")
    underscribe_mm = _scribe("How much deeper a notch is cut than the heights ask. Null: 0.")
    overscribe_mm = _scribe("The same for the groove. Null: 0.")
    slope = _share("Of a dovetail's seat towards the outside, rise over run. Null: 0.2.")
    back_slope = _share("Of a full dovetail's seat along the lower log. Null: 0.1.")
    top_share = _share("Share of a dovetail's depth taken from the lower log. Null: 0.5.")
    diameter_error_mm = _error(f"One standard deviation of reading a diameter. {_OR_RECORD} 4.")
    top_reading = serializers.ChoiceField(
        TOP_READINGS,
        required=False,
        allow_null=True,
        help_text="With what the crew reads tops: its error counts until 30 tops were read again. Null: "
        "tape.",
    )
    height_error_mm = _error(
        "Of one reading of the height of a top. Null: by the crew's own record of 30 or more tops read "
        "again, else by `top_reading`."
    )
    cut_error_mm = _error(f"Of cutting a notch or gap. {_OR_RECORD} 3.")
    cut_share = serializers.DecimalField(
        max_digits=5,
        decimal_places=4,
        min_value=Decimal(str(CUT_SHARES[0])),
        max_value=Decimal(str(CUT_SHARES[1])),
        required=False,
        allow_null=True,
        help_text="What a new layout lets openings cut out of a sill or header log. Null: 0.5 (common "
        "practice, no source).",
    )
    run_wild_mm = LengthField(
        required=False,
        allow_null=True,
        most_mm=Decimal(RUN_WILD_MOST_MM),
        help_text="How far pieces of a new layout may run past their jambs. Null: 25 (common practice, no "
        "source).",
    )
    least_piece_mm = LengthField(
        required=False,
        allow_null=True,
        most_mm=Decimal(LEAST_PIECE_MOST_MM),
        help_text="Below which length a piece beside an opening is warned of. Null: 600 (common practice, no "
        "source).",
    )
    trim_each_end_mm = _cut(TRIM_LIMITS_MM, "Off either end of a piece, on the wall and in plans. Null: 25")
    kerf_mm = _cut(KERF_LIMITS_MM, "What one saw cut takes. Null: 5")
    most_pieces = serializers.IntegerField(
        required=False,
        allow_null=True,
        min_value=PIECES_LIMITS[0],
        max_value=PIECES_LIMITS[1],
        help_text="Out of one log. Null: 3 (common practice, no source).",
    )
    hazard_clear_mm = _cut(
        HAZARD_CLEAR_LIMITS_MM, "From metal or a large knot to a cut or notch, 100 at least. Null: 300"
    )


class WallChoicesOut(RowOut):
    rule = serializers.ChoiceField(SETTLING_RULES)
    code_title = serializers.CharField(allow_null=True)
    code_low_pct = serializers.FloatField(allow_null=True, help_text="Null: no local code.")
    code_high_pct = serializers.FloatField(allow_null=True)
    bedding_low_pct = serializers.FloatField()
    bedding_high_pct = serializers.FloatField()
    moisture_now_pct = serializers.FloatField(allow_null=True, help_text="Null: green.")
    moisture_expected_pct = serializers.FloatField()
    underscribe_mm = serializers.FloatField()
    overscribe_mm = serializers.FloatField()
    slope = serializers.FloatField()
    back_slope = serializers.FloatField()
    top_share = serializers.FloatField()
    diameter_error_mm = serializers.FloatField(help_text="One standard deviation of a reading.")
    top_reading = serializers.ChoiceField(TOP_READINGS)
    height_error_mm = serializers.FloatField(help_text="Of one reading of a top.")
    cut_error_mm = serializers.FloatField(help_text="Of a notch or gap against what was asked.")
    cut_share = serializers.FloatField()
    run_wild_mm = serializers.FloatField()
    least_piece_mm = serializers.FloatField()
    trim_each_end_mm = serializers.FloatField(help_text="Off either end of a piece.")
    kerf_mm = serializers.FloatField(help_text="Of one saw cut.")
    most_pieces = serializers.IntegerField(help_text="Out of one log.")
    hazard_clear_mm = serializers.FloatField(help_text="From metal or a large knot to a cut or notch.")


class ErrorSourcesOut(RowOut):
    diameter_error_mm = serializers.ChoiceField(CHOSEN_BY)
    height_error_mm = serializers.ChoiceField(CHOSEN_BY)
    cut_error_mm = serializers.ChoiceField(CHOSEN_BY)


class WayOfReadingOut(RowOut):
    top_reading = serializers.ChoiceField(TOP_READINGS)
    words = serializers.CharField()
    error_mm = serializers.FloatField(help_text="One standard deviation of one reading.")
    source = serializers.CharField()  # type: ignore[assignment]  # a field of that name, which DRF collects


class ErrorsOut(RowOut):
    chosen_by = ErrorSourcesOut(
        help_text="The crew, its own record of measured tops, the way in which it says it reads tops, or "
        "nobody: the default."
    )
    measured_tops = serializers.IntegerField(help_text="Tops that were computed before they were measured.")
    tops_read_again = serializers.IntegerField(
        help_text="Readings of tops that were read before; they tell what one reading's error is."
    )
    tops_needed = serializers.IntegerField(help_text="At so many the record replaces the default.")
    times_usual = serializers.FloatField(
        allow_null=True, help_text="This crew's errors over the usual ones. Null: too few tops."
    )
    words = serializers.CharField(help_text="The same for a person, in the crew's units.")
    ways = WayOfReadingOut(many=True, help_text="The ways of reading tops to choose from.")


class SettlingRuleOut(RowOut):
    id = serializers.CharField()
    applies_to = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]  # a field of that name, which DRF collects


class WallSettingsOut(WallChoicesOut):
    chosen = serializers.ListField(
        child=serializers.CharField(), help_text="What the crew chose; all else is the default."
    )
    defaults = WallChoicesOut()
    measuring = ErrorsOut(help_text="How far readings and cuts may be off, and who says so.")
    settling_rules = SettlingRuleOut(many=True, help_text="The rules to choose from.")
    version = serializers.IntegerField(help_text="0 before anything was chosen.")


class GrainRulesIn(BodyIn):
    weights = BoundedMap(
        most=len(GRAIN_RULES),
        child=serializers.ChoiceField(GRAIN_WEIGHTS, allow_null=True),
        required=False,
        help_text="By rule: off, warn or bind; null goes back to the default.",
    )
    straight_run = _run()
    moderate_run = _run()


class GrainRuleOut(RowOut):
    id = serializers.CharField()
    text = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]  # a field of that name, which DRF collects
    mark = serializers.ChoiceField(MARKS, help_text="How well the rule is founded.")
    weight = serializers.ChoiceField(GRAIN_WEIGHTS, help_text="What the crew makes of it.")
    default_weight = serializers.ChoiceField(GRAIN_WEIGHTS)
    is_chosen = serializers.BooleanField(help_text="Whether the crew switched it.")


class GrainRulesOut(RowOut):
    rules = GrainRuleOut(many=True)
    straight_run = serializers.FloatField(help_text="Grain of a longer run for one across is straight.")
    moderate_run = serializers.FloatField(help_text="And of a longer one than this moderate, else severe.")
    bands_source = serializers.CharField()
    bands_assumption = serializers.CharField()
    version = serializers.IntegerField(help_text="0 before anything was switched.")
