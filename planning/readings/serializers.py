"""What a cabin's readings look like from outside: tops as read, and what another reading is worth."""

from rest_framework import serializers

from cabins.set_logs.models import End
from crews.api.reading import RowOut


class TopReadingOut(RowOut):
    id = serializers.UUIDField()
    height_mm = serializers.FloatField()
    height_text = serializers.CharField()
    measured_at = serializers.DateTimeField()
    measured_by = serializers.UUIDField()
    measured_by_name = serializers.CharField()


class TopReadOut(RowOut):
    wall = serializers.CharField()
    round = serializers.IntegerField()
    end = serializers.CharField(help_text="`start`, `end`, or a tee by its name: `P-A`.")
    height_mm = serializers.FloatField(help_text="The mean of the readings: the height that counts.")
    height_text = serializers.CharField()
    error_mm = serializers.FloatField(help_text="Of that mean, one standard deviation.")
    error_text = serializers.CharField()
    times_read = serializers.IntegerField()
    spread_mm = serializers.FloatField(help_text="Highest less lowest reading.")
    spread_text = serializers.CharField()
    measured_at = serializers.DateTimeField(help_text="The latest.")
    measured_by_name = serializers.CharField(help_text="Everybody who read it.")
    readings = TopReadingOut(many=True, help_text="Those that count, oldest first.")


class TopWorthOut(RowOut):
    wall = serializers.CharField()
    round = serializers.IntegerField()
    end = serializers.ChoiceField(End.choices)
    times_read = serializers.IntegerField(help_text="0: it is still to come; then it is read twice at once.")
    worth_mm = serializers.FloatField(help_text="How much surer the plate is with one reading more.")
    worth_text = serializers.CharField()


class LogWorthOut(RowOut):
    log = serializers.UUIDField()
    log_number = serializers.CharField()
    wall = serializers.CharField()
    round = serializers.IntegerField()
    worth_mm = serializers.FloatField(help_text="How much surer it is with this log's diameters read twice.")
    worth_text = serializers.CharField()


class ReadingsWorthOut(RowOut):
    plan = serializers.UUIDField(help_text="The plan in force.")
    steered = serializers.BooleanField(help_text="Whether the gap has a band to steer in.")
    plate_mm = serializers.FloatField(help_text="Worst wall at the plate as expected from what stands.")
    plate_text = serializers.CharField()
    tops = TopWorthOut(many=True, help_text="The ends worth most first; none where there is no band.")
    tops_together_mm = serializers.FloatField(help_text="What all of these ends are worth together.")
    tops_together_text = serializers.CharField()
    logs = LogWorthOut(
        many=True, help_text="To the plate: the logs worth most first, of those still to be set."
    )
    first_round_mm = serializers.FloatField(
        help_text="Worst wall expected after the first round, of those whose first log is to lie on the deck "
        "on its flat: it has no gap to steer by. 0, and no text: none such is still to be laid."
    )
    first_round_text = serializers.CharField(allow_blank=True)
    first_logs = LogWorthOut(
        many=True, help_text="To the level of the first round: its logs on the deck that are still to be set."
    )


class CabinReadingsOut(RowOut):
    cabin = serializers.UUIDField()
    tops = TopReadOut(many=True, help_text="Every measured top, lowest round first.")
    worth = ReadingsWorthOut(allow_null=True, help_text="Null without a plan in force.")
    plan_again = serializers.ListField(
        child=serializers.CharField(),
        help_text="Walls that the gaps of the rounds left cannot bring back; empty: there is no need to plan "
        "again for the heights that stand.",
    )
    rule = serializers.CharField()
    uncertainty = serializers.CharField(help_text="The errors, and who says so.")
    cautions = serializers.ListField(child=serializers.CharField())
