"""What a layout looks like from outside: one document, lengths in mm or written with their unit."""

from typing import Any

from rest_framework import serializers

from cabins.core.layout_parts import HighStart, NotchKind, OpeningKind, Start, WallTop
from cabins.core.layout_reading import CUT_SHARES, MOST_PARTS
from cabins.core.openings import Threshold
from cabins.core.roof_line import SLOPES, RidgeRun
from cabins.openings.serializers import OpeningFallOut, SetLogCutOut, StubOut
from cabins.roof_members.models import MEMBER_KINDS
from crews.api.bounds import list_of
from crews.api.reading import RowOut
from inventory.figures.serializers import BasisOut
from inventory.logs.fields import LengthField

STARTS = [(start.value, start.value) for start in Start]
HIGH_STARTS = [(start.value, start.value) for start in HighStart]
NOTCH_KINDS = [(kind.value, kind.value) for kind in NotchKind]
WALL_TOPS = [(top.value, top.value) for top in WallTop]
THRESHOLDS = [(one.value, one.value) for one in Threshold]
RIDGE_RUNS = [(run.value, run.value) for run in RidgeRun]
OPENING_KINDS = [(kind.value, kind.value) for kind in OpeningKind]


class CornerIn(serializers.Serializer[Any]):
    id = serializers.CharField(max_length=40)
    x_mm = LengthField()
    y_mm = LengthField()


class OwnOverhangsIn(serializers.Serializer[Any]):
    """What a wall or partition may say of its own ends."""

    overhang_start_mm = LengthField(
        required=False,
        allow_null=True,
        help_text="How far its logs reach past its start; null: as far as `overhang_mm` says. At an inner "
        "corner of an L half a log leaves no tail in the room.",
    )
    overhang_end_mm = LengthField(
        required=False, allow_null=True, help_text="How far its logs reach past its end; null: the same."
    )


class WallIn(OwnOverhangsIn):
    """Positions along a wall count from the first log that crosses it: at its start corner, or where it runs
    on past that corner at the wall that it meets there."""

    runs_on_start = serializers.BooleanField(
        required=False,
        help_text="Whether its logs run on past its start, an inner corner, to the wall that they meet: a "
        "partition.",
    )
    runs_on_end = serializers.BooleanField(required=False, help_text="The same past its end.")
    id = serializers.CharField(max_length=40)
    to = serializers.CharField(max_length=40, help_text="The corner where it ends, the next wall's start.")
    start = serializers.ChoiceField(STARTS, help_text="`low` on the deck, `high` half a log up.")

    def get_fields(self) -> dict[str, serializers.Field]:
        # `from` cannot be an attribute in Python.
        return {
            **super().get_fields(),
            "from": serializers.CharField(max_length=40, help_text="The corner where it starts."),
        }


class TeeIn(serializers.Serializer[Any]):
    wall = serializers.CharField(max_length=40)
    at_mm = LengthField(help_text="Along that wall from its start.")


class PartitionIn(OwnOverhangsIn):
    id = serializers.CharField(max_length=40)
    to = TeeIn()
    start = serializers.ChoiceField(STARTS)

    def get_fields(self) -> dict[str, serializers.Field]:
        return {**super().get_fields(), "from": TeeIn()}


class GapIn(serializers.Serializer[Any]):
    smallest_mm = LengthField(help_text="Negative: an overlap, scribed.")
    target_mm = LengthField()
    largest_mm = LengthField()


class SillFlatIn(serializers.Serializer[Any]):
    """Just one of the two."""

    depth_mm = LengthField(required=False, allow_null=True, help_text="As deep under every log.")
    width_mm = LengthField(
        required=False,
        allow_null=True,
        help_text="As wide under every log, and so deeper in thick wood. 50 to 75 mm is published (USDA "
        "Misc. Pub. 579).",
    )


class OpeningIn(serializers.Serializer[Any]):
    id = serializers.CharField(max_length=40)
    kind = serializers.ChoiceField(OPENING_KINDS)
    wall = serializers.CharField(max_length=40)
    offset_mm = LengthField(help_text="Along its wall from its start: the centre of what crosses it there.")
    width_mm = LengthField()
    sill_mm = LengthField(help_text="Above the deck.")
    head_mm = LengthField(help_text="Above the deck.")
    threshold = serializers.ChoiceField(
        THRESHOLDS,
        required=False,
        help_text="The log at a door's foot: `cut_through` where enough of it is taken, `flattened`, `kept`.",
    )
    flatten_mm = LengthField(required=False, help_text="How deep a threshold is flattened from its top.")


class LayoutMemberIn(serializers.Serializer[Any]):
    id = serializers.CharField(max_length=40, help_text="With a count over one the members are `ID 1`, ...")
    kind = serializers.ChoiceField(MEMBER_KINDS)
    length_mm = LengthField(help_text="As built in, without trim.")
    least_middle_mm = LengthField(help_text="The least diameter at its own middle.")
    crown_limit_mm = LengthField(help_text="The most that it may bow over its length.")
    count = serializers.IntegerField(min_value=1, max_value=60, required=False)


class RoofLineIn(serializers.Serializer[Any]):
    """The line that gables of logs shorten to. A cabin of four walls takes one."""

    slope = serializers.FloatField(
        min_value=SLOPES[0], max_value=SLOPES[1], help_text="Rise over run: 0.5 is 6 in 12."
    )
    ridge = serializers.ChoiceField(
        RIDGE_RUNS, help_text="Along the longer side, or across it; of equal sides the first wall's."
    )
    heel_mm = LengthField(
        required=False,
        help_text="How far over the corners' centres it lies above the higher of the two walls there.",
    )
    least_middle_mm = LengthField(
        required=False,
        allow_null=True,
        help_text="The least middle diameter of a gable log, on which rounds and lengths are reckoned. Null: "
        "nine tenths of `log_middle_mm`.",
    )
    crown_limit_mm = LengthField(required=False, help_text="The most that a gable log may bow.")


class LayoutIn(serializers.Serializer[Any]):
    corners = list_of(CornerIn(), most=MOST_PARTS)
    walls = list_of(WallIn(), most=MOST_PARTS, help_text="Corner to corner, once round the cabin.")
    partitions = list_of(PartitionIn(), most=MOST_PARTS, required=False)
    high_start = serializers.ChoiceField(HIGH_STARTS, required=False)
    overhang_mm = LengthField()
    notch = serializers.ChoiceField(NOTCH_KINDS)
    gap = GapIn()
    log_middle_mm = LengthField(help_text="The middle diameter expected.")
    wall_height_mm = LengthField()
    rounds = serializers.IntegerField(
        required=False, allow_null=True, help_text="Null: as many as the height needs."
    )
    openings = list_of(OpeningIn(), most=MOST_PARTS, required=False)
    members = list_of(
        LayoutMemberIn(),
        most=MOST_PARTS,
        required=False,
        help_text="Beyond the walls: ridge, purlins, posts.",
    )
    roof_line = RoofLineIn(
        required=False,
        allow_null=True,
        help_text="Gives each of two gables its logs, members named `gable WALL ROUND`. Null: no gables of "
        "logs. Left out: as the cabin has it.",
    )
    sill_flat = SillFlatIn(
        required=False,
        allow_null=True,
        help_text="The flat on which a first log lies on the deck: its top is its diameter less the flat's "
        "depth, worked out at each end. Null: it lies on packing as high as the gap.",
    )
    sealer_mm = LengthField(required=False, help_text="Sill sealer under the flat, as thick as it lies.")
    half_logs = serializers.BooleanField(
        required=False,
        help_text="True: the half logs that high walls start on are places of round 0, planned and set like "
        "any other. False: they are not, and high walls start half a round up.",
    )
    rip_kerf_mm = LengthField(required=False, help_text="What the saw takes where a log is ripped in half.")
    deck_raise_mm = LengthField(
        required=False,
        allow_null=True,
        help_text="With `raised_deck`: how much higher the deck lies under the high walls. Null: half a "
        "round.",
    )
    top = serializers.ChoiceField(
        WALL_TOPS,
        required=False,
        help_text="`as_it_falls`: high walls end half a round above low ones. `even`: half logs on the low "
        "walls bring both to one height.",
    )
    cut_share = serializers.FloatField(
        min_value=CUT_SHARES[0],
        max_value=CUT_SHARES[1],
        required=False,
        help_text="Of a sill or header log so much may be cut away; where an opening takes more the log is "
        "cut "
        "through. Left out: as the cabin has it, else as the crew chose.",
    )
    run_wild_mm = LengthField(
        required=False, help_text="A piece may run so far past its jamb until it is cut plumb."
    )
    least_piece_mm = LengthField(required=False, help_text="A shorter piece beside an opening is warned of.")


class CornerOut(RowOut):
    id = serializers.CharField()
    x_mm = serializers.FloatField()
    y_mm = serializers.FloatField()


class OwnOverhangsOut(RowOut):
    """What a wall or partition says of its own ends."""

    overhang_start_mm = serializers.FloatField(allow_null=True)
    overhang_end_mm = serializers.FloatField(allow_null=True)


class WallOut(OwnOverhangsOut):
    runs_on_start = serializers.BooleanField()
    runs_on_end = serializers.BooleanField()
    id = serializers.CharField()
    to = serializers.CharField()
    start = serializers.ChoiceField(STARTS)

    def get_fields(self) -> dict[str, serializers.Field]:
        return {**super().get_fields(), "from": serializers.CharField()}


class TeeOut(RowOut):
    wall = serializers.CharField()
    at_mm = serializers.FloatField()


class PartitionOut(OwnOverhangsOut):
    id = serializers.CharField()
    to = TeeOut()
    start = serializers.ChoiceField(STARTS)

    def get_fields(self) -> dict[str, serializers.Field]:
        return {**super().get_fields(), "from": TeeOut()}


class GapOut(RowOut):
    smallest_mm = serializers.FloatField()
    target_mm = serializers.FloatField()
    largest_mm = serializers.FloatField()


class SillFlatOut(RowOut):
    depth_mm = serializers.FloatField(allow_null=True)
    width_mm = serializers.FloatField(allow_null=True)


class OpeningOut(RowOut):
    id = serializers.CharField()
    kind = serializers.ChoiceField(OPENING_KINDS)
    wall = serializers.CharField()
    offset_mm = serializers.FloatField()
    width_mm = serializers.FloatField()
    sill_mm = serializers.FloatField()
    head_mm = serializers.FloatField()
    threshold = serializers.ChoiceField(THRESHOLDS)
    flatten_mm = serializers.FloatField()


class LayoutMemberOut(RowOut):
    id = serializers.CharField()
    kind = serializers.ChoiceField(MEMBER_KINDS)
    length_mm = serializers.FloatField()
    least_middle_mm = serializers.FloatField()
    crown_limit_mm = serializers.FloatField()
    count = serializers.IntegerField()


class RoofLineOut(RowOut):
    slope = serializers.FloatField()
    ridge = serializers.ChoiceField(RIDGE_RUNS)
    heel_mm = serializers.FloatField()
    least_middle_mm = serializers.FloatField(allow_null=True)
    crown_limit_mm = serializers.FloatField()


class LayoutDocumentOut(RowOut):
    corners = CornerOut(many=True)
    walls = WallOut(many=True)
    partitions = PartitionOut(many=True)
    high_start = serializers.ChoiceField(HIGH_STARTS)
    overhang_mm = serializers.FloatField()
    notch = serializers.ChoiceField(NOTCH_KINDS)
    gap = GapOut()
    log_middle_mm = serializers.FloatField()
    wall_height_mm = serializers.FloatField()
    rounds = serializers.IntegerField(allow_null=True)
    openings = OpeningOut(many=True)
    members = LayoutMemberOut(many=True)
    roof_line = RoofLineOut(allow_null=True)
    sill_flat = SillFlatOut(allow_null=True)
    sealer_mm = serializers.FloatField()
    half_logs = serializers.BooleanField()
    rip_kerf_mm = serializers.FloatField()
    deck_raise_mm = serializers.FloatField(allow_null=True)
    top = serializers.ChoiceField(WALL_TOPS)
    cut_share = serializers.FloatField()
    run_wild_mm = serializers.FloatField()
    least_piece_mm = serializers.FloatField()


class HalfLogOut(RowOut):
    wall = serializers.CharField()
    length_mm = serializers.FloatField()


class WallEndOut(RowOut):
    start = serializers.ChoiceField(STARTS)
    top_mm = serializers.FloatField(help_text="Above the deck, with logs as thick as the layout expects.")


class ColumnOut(RowOut):
    wall = serializers.CharField()
    column = serializers.IntegerField(help_text="Numbered from 0 at the wall's start.")
    at_mm = serializers.FloatField(help_text="Along the wall from its start.")
    crossing = serializers.CharField(help_text="The corner, or the tee as `P-A`.")


class GablePlaceOut(RowOut):
    wall = serializers.CharField()
    round = serializers.IntegerField(help_text="Counted from the wall's last round, from 1.")
    member = serializers.CharField(help_text="Its name among the cabin's members: `gable WALL ROUND`.")
    length_mm = serializers.FloatField(help_text="To cut, its ends left long.")
    least_middle_mm = serializers.FloatField()


class LayoutOut(RowOut):
    layout = LayoutDocumentOut()
    rounds = serializers.IntegerField(help_text="As given, or as many as the wall height needs.")
    pitch_mm = serializers.FloatField(help_text="The nominal height of a round.")
    half_logs = HalfLogOut(many=True, help_text="What the high walls start on.")
    wall_ends = WallEndOut(many=True, help_text="Where the low and the high walls end.")
    gable_logs = GablePlaceOut(many=True, help_text="What the roof line gives; none without.")
    columns = ColumnOut(many=True, help_text="What crosses each wall, along it: heights are taken there.")
    version = serializers.IntegerField()


class PastLayoutOut(RowOut):
    id = serializers.UUIDField()
    layout_version = serializers.IntegerField()
    layout = LayoutDocumentOut()
    laid_out_by = serializers.UUIDField(allow_null=True)
    created_at = serializers.DateTimeField()


class PastLayoutPage(RowOut):
    items = PastLayoutOut(many=True)
    next = serializers.CharField(allow_null=True)


class LayoutFaultOut(RowOut):
    pointer = serializers.CharField()
    detail = serializers.CharField()
    code = serializers.CharField()


class LaidPlaceOut(RowOut):
    wall = serializers.CharField()
    round = serializers.IntegerField()
    piece = serializers.IntegerField()
    start_mm = serializers.FloatField()
    end_mm = serializers.FloatField()
    length_mm = serializers.FloatField()
    position = serializers.CharField(
        allow_null=True, help_text="`left of door`, as its wall is drawn; null for a whole course."
    )


class SetLogInTheWayOut(RowOut):
    wall = serializers.CharField()
    round = serializers.IntegerField()
    piece = serializers.IntegerField()
    log = serializers.UUIDField()
    log_number = serializers.CharField()
    change = serializers.ChoiceField([("removed", "removed"), ("moved", "moved")])


class RoofMemberInTheWayOut(RowOut):
    member = serializers.CharField()
    log = serializers.UUIDField()
    log_number = serializers.CharField()
    change = serializers.ChoiceField([("removed", "removed"), ("changed", "changed")])


class LayoutCheckOut(RowOut):
    faults = LayoutFaultOut(many=True, help_text="Empty: the layout could be stored.")
    rounds = serializers.IntegerField(allow_null=True)
    pitch_mm = serializers.FloatField(allow_null=True)
    half_logs = HalfLogOut(many=True)
    wall_ends = WallEndOut(many=True, help_text="Where the low and the high walls would end.")
    gable_logs = GablePlaceOut(many=True, help_text="What the roof line would give; none without.")
    columns = ColumnOut(many=True, help_text="What crosses each wall, along it.")
    places = LaidPlaceOut(many=True)
    set_logs_in_the_way = SetLogInTheWayOut(many=True)
    roof_members_in_the_way = RoofMemberInTheWayOut(many=True)
    openings = OpeningFallOut(many=True, help_text="How each opening falls on the courses expected.")
    stubs = StubOut(many=True, help_text="Pieces beside openings that must be braced until the jambs are in.")
    set_logs_cut = SetLogCutOut(
        many=True, help_text="Set logs that openings which this layout changes would be cut into."
    )


class EstimatedEndOut(RowOut):
    start = serializers.ChoiceField(STARTS)
    top_mm = serializers.FloatField(help_text="Above the deck, with logs of the mean middle.")
    low_mm = serializers.FloatField(help_text="With the thinnest logs there are for all rounds.")
    high_mm = serializers.FloatField(help_text="With the thickest.")


class HeightEstimateOut(RowOut):
    wall_height_mm = serializers.FloatField()
    layout_rounds = serializers.IntegerField()
    free_logs = serializers.IntegerField()
    mean_middle_mm = serializers.FloatField()
    rounds = serializers.IntegerField(help_text="Whose low walls end nearest the height wanted.")
    rounds_least = serializers.IntegerField(help_text="With the yards' thickest logs.")
    rounds_most = serializers.IntegerField(help_text="With the yards' thinnest logs.")
    height_mm = serializers.FloatField(help_text="Where the low walls end with so many rounds.")
    height_low_mm = serializers.FloatField()
    height_high_mm = serializers.FloatField()
    height_one_round_fewer_mm = serializers.FloatField()
    height_one_round_more_mm = serializers.FloatField()
    wall_ends = EstimatedEndOut(many=True, help_text="Where the low and the high walls end.")
    logs_needed = serializers.IntegerField()
    logs_short = serializers.IntegerField()
    basis = BasisOut()
