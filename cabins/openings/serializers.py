"""What openings look like from outside: their sheet, how they fall on the courses, what is cut for them."""

from rest_framework import serializers

from cabins.core.layout_parts import OpeningKind
from cabins.core.opening_help import OpeningLine
from cabins.core.openings import MisfitCode
from crews.api.reading import RowOut

KINDS = [(kind.value, kind.value) for kind in OpeningKind]
SIDES = [("sill", "sill"), ("header", "header")]
LINES = [(line.value, line.value) for line in OpeningLine]
MISFITS = [(code.value, code.value) for code in MisfitCode]
JAMBS = [("near", "near"), ("far", "far")]


class OpeningCutOut(RowOut):
    opening = serializers.CharField()
    kind = serializers.ChoiceField(KINDS)
    side = serializers.ChoiceField(SIDES, help_text="The log under the hole, or the one over it.")
    wall = serializers.CharField()
    round = serializers.IntegerField(help_text="0: what the wall starts on.")
    piece = serializers.IntegerField(allow_null=True, help_text="Null: no place of the wall.")
    log = serializers.UUIDField(allow_null=True, help_text="The log set or planned there.")
    log_number = serializers.CharField(allow_null=True)
    is_set = serializers.BooleanField()
    from_mm = serializers.FloatField(help_text="Along the wall: the jamb nearer its start.")
    from_text = serializers.CharField()
    to_mm = serializers.FloatField()
    to_text = serializers.CharField()
    log_from_mm = serializers.FloatField(allow_null=True, help_text="In the log, from its butt end.")
    log_from_text = serializers.CharField(allow_null=True)
    log_to_mm = serializers.FloatField(allow_null=True)
    log_to_text = serializers.CharField(allow_null=True)
    depth_near_mm = serializers.FloatField(help_text="Depth to cut at the jamb nearer the wall's start.")
    depth_near_text = serializers.CharField()
    depth_far_mm = serializers.FloatField()
    depth_far_text = serializers.CharField()
    infill_near_mm = serializers.FloatField(help_text="What is left over between this log and the hole.")
    infill_near_text = serializers.CharField()
    infill_far_mm = serializers.FloatField()
    infill_far_text = serializers.CharField()
    share = serializers.FloatField(help_text="The most of the log's height that is cut away.")
    leave_until_round = serializers.IntegerField(
        allow_null=True, help_text="Not to be cut before this round is on. Null: nothing to cut."
    )
    words = serializers.CharField(help_text="The same in one sentence, in the crew's units.")


class JambPieceOut(RowOut):
    wall = serializers.CharField()
    round = serializers.IntegerField()
    piece = serializers.IntegerField()
    position = serializers.CharField(help_text="`left of door`, as its wall is drawn.")
    log = serializers.UUIDField(allow_null=True)
    log_number = serializers.CharField(allow_null=True)
    jamb = serializers.ChoiceField(JAMBS)
    jamb_mm = serializers.FloatField(help_text="Along the wall: where it is cut plumb in the end.")
    jamb_text = serializers.CharField()
    run_wild_mm = serializers.FloatField(help_text="So far it may run past the jamb until then.")
    run_wild_text = serializers.CharField()
    needs_brace = serializers.BooleanField()


class OutOfOrderOut(RowOut):
    code = serializers.ChoiceField(MISFITS)
    detail = serializers.CharField()


class OpeningSheetOut(RowOut):
    opening = serializers.CharField()
    kind = serializers.ChoiceField(KINDS)
    wall = serializers.CharField()
    near_mm = serializers.FloatField(help_text="Along the wall: the jamb nearer its start.")
    near_text = serializers.CharField()
    far_mm = serializers.FloatField()
    far_text = serializers.CharField()
    width_mm = serializers.FloatField()
    width_text = serializers.CharField()
    height_mm = serializers.FloatField(help_text="As asked, from sill to head.")
    height_text = serializers.CharField()
    sill_mm = serializers.FloatField()
    sill_text = serializers.CharField()
    head_mm = serializers.FloatField()
    head_text = serializers.CharField()
    space_mm = serializers.FloatField(help_text="Settling space over the head by the crew's rule.")
    space_text = serializers.CharField()
    hole_asked_mm = serializers.FloatField(help_text="The hole to leave: height and settling space.")
    hole_asked_text = serializers.CharField()
    hole_top_mm = serializers.FloatField(help_text="Above the deck.")
    hole_top_text = serializers.CharField()
    hole_near_mm = serializers.FloatField(help_text="The hole on the day after the cuts, before any infill.")
    hole_near_text = serializers.CharField()
    hole_far_mm = serializers.FloatField()
    hole_far_text = serializers.CharField()
    rounds_through = serializers.ListField(child=serializers.IntegerField())
    threshold = serializers.CharField(allow_null=True, help_text="What becomes of it, in words.")
    sill = OpeningCutOut()
    header = OpeningCutOut(allow_null=True, help_text="Null: no log lies over it.")
    jambs = JambPieceOut(many=True, help_text="The pieces that end at its jambs.")
    keyway = serializers.CharField()
    out_of_order = OutOfOrderOut(many=True)
    cautions = serializers.ListField(child=serializers.CharField())


class OpeningSheetsOut(RowOut):
    cabin = serializers.UUIDField()
    cabin_name = serializers.CharField()
    plan = serializers.UUIDField(allow_null=True, help_text="Null: by what stands and what is expected.")
    of_what = serializers.CharField(help_text="In words, what the heights are from.")
    rule = serializers.CharField(help_text="The rule for settling space.")
    rule_source = serializers.CharField()
    cut_share = serializers.FloatField()
    openings = OpeningSheetOut(many=True)


class OtherHeightOut(RowOut):
    line = serializers.ChoiceField(LINES, help_text="Which line is moved, the other one staying.")
    height_mm = serializers.FloatField(help_text="Where it would lie above the deck.")
    height_text = serializers.CharField()
    change_mm = serializers.FloatField(help_text="Upward positive.")
    cut_mm = serializers.FloatField(help_text="The most to be cut at that edge then.")
    infill_mm = serializers.FloatField()
    edge_mm = serializers.FloatField(help_text="Cut and infill of both edges together.")
    words = serializers.CharField()


class OpeningFallOut(OpeningSheetOut):
    other_heights = OtherHeightOut(many=True, help_text="Nearest heights that need less, the best first.")


class StubOut(RowOut):
    wall = serializers.CharField()
    round = serializers.IntegerField()
    piece = serializers.IntegerField()
    position = serializers.CharField()
    length_mm = serializers.FloatField()
    is_short = serializers.BooleanField(help_text="Shorter than the layout's least length.")
    is_free = serializers.BooleanField(help_text="A notch holds it at one end only.")
    words = serializers.CharField()


class SetLogCutOut(RowOut):
    opening = serializers.CharField()
    side = serializers.ChoiceField(SIDES)
    wall = serializers.CharField()
    round = serializers.IntegerField()
    piece = serializers.IntegerField()
    log = serializers.UUIDField()
    log_number = serializers.CharField()
    depth_near_mm = serializers.FloatField()
    depth_far_mm = serializers.FloatField()
    share = serializers.FloatField()
    words = serializers.CharField()
