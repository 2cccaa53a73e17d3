"""What progress looks like from outside."""

from rest_framework import serializers

from crews.api.reading import RowOut


class _EndsOut(RowOut):
    start_mm = serializers.FloatField(help_text="Top at the wall's start corner, above the deck.")
    start_error_mm = serializers.FloatField(help_text="Expected error, one standard deviation.")
    start_is_measured = serializers.BooleanField()
    start_is_assumed = serializers.BooleanField(help_text="No log lies there yet: the nominal one stands in.")
    end_mm = serializers.FloatField()
    end_error_mm = serializers.FloatField()
    end_is_measured = serializers.BooleanField()
    end_is_assumed = serializers.BooleanField()
    out_of_level_mm = serializers.FloatField(help_text="End top minus start top.")


class WallProgressOut(_EndsOut):
    wall = serializers.CharField()
    rounds_up = serializers.IntegerField(help_text="Rounds filled from the first one on, without a hole.")


class ProgressOut(RowOut):
    cabin = serializers.UUIDField()
    cabin_name = serializers.CharField()
    layout_version = serializers.IntegerField(help_text="0: not laid out yet.")
    rounds = serializers.IntegerField()
    rounds_complete = serializers.IntegerField(help_text="From the first one on, without a hole.")
    rounds_left = serializers.IntegerField(help_text="Of the layout's rounds.")
    rounds_needed = serializers.IntegerField(
        help_text="Nominal rounds from the height reached to the one wanted."
    )
    completed_at = serializers.DateTimeField(
        allow_null=True, help_text="When the last complete round was complete."
    )
    places = serializers.IntegerField()
    logs_set = serializers.IntegerField()
    logs_left = serializers.IntegerField(help_text="Places still open.")
    members = serializers.IntegerField(help_text="Members beyond the walls that the layout wants.")
    members_installed = serializers.IntegerField(help_text="How many of them are made.")
    last_set_at = serializers.DateTimeField(allow_null=True)
    wall_height_mm = serializers.FloatField(allow_null=True)
    height_mm = serializers.FloatField(
        help_text="Mean top of the low walls' ends after the last complete round."
    )
    walls = WallProgressOut(many=True, help_text="Each wall after its own last full round.")


class CrewProgressOut(RowOut):
    cabins = ProgressOut(many=True)


class RoundWallOut(_EndsOut):
    wall = serializers.CharField()
    places = serializers.IntegerField()
    filled = serializers.IntegerField()


class RoundOut(RowOut):
    round = serializers.IntegerField()
    places = serializers.IntegerField()
    filled = serializers.IntegerField()
    is_complete = serializers.BooleanField(help_text="Exactly when all its places are filled.")
    completed_at = serializers.DateTimeField(
        allow_null=True, help_text="When the last of its logs was set; null while it is open."
    )
    walls = RoundWallOut(many=True)


class RoundsOut(RowOut):
    rounds = RoundOut(many=True)
