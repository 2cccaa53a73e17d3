"""Addresses at the wall: logs set as the plan knows them, the next log, the round's setting sheet."""

from functools import partial
from uuid import UUID

from django.utils.timezone import now
from rest_framework.response import Response
from rest_framework.views import APIView

from cabins import actions as cabin_actions
from cabins.models import Cabin
from cabins.queries import NotLaidOut, set_log_row
from cabins.serializers.setting import SetLogIn, SetLogOut
from cabins.views import setting as cabin_views
from config.api.answers import answered
from config.api.describe import describe
from config.api.versions import VersionNeeded, VersionStale, if_match
from crews.access import CrewRequest
from crews.models import Role
from crews.versioned_rows import one_of
from inventory.actions.checking import DoubtsUnconfirmed
from inventory.drawn import units_of
from planning import setting, sheet_texts, sheets
from planning.adoption import PlanStale
from planning.cut_list import cut_list
from planning.cut_list_serializers import CutListOut
from planning.readings import cabin_readings
from planning.readings_serializers import CabinReadingsOut
from planning.serializers import UndoIn
from planning.sheet_serializers import NextLogOut, RoundQuery, SettingSheetOut, SlingQuery

_SET_EXAMPLE = {
    "cabin": "0f8b7c66-3f2e-4a6d-9d0c-7b1a5e2c4d10",
    "wall": "A",
    "round": 1,
    "piece": 0,
    "log": "9a4e1c55-7d31-4b0c-8f2a-1e6d5c4b3a20",
    "from_butt_mm": 25,
    "butt_at": "start",
    "set_at": "2026-05-04T10:40:00Z",
    "gap_mm": "1/2 in",
    "notch_start_mm": 142,
}


class OneSetLog(cabin_views.OneSetLog):
    required_roles = {"GET": Role.LEARNER, "PUT": Role.LEARNER}

    @describe(
        "set_log",
        "Record a log as set in its place",
        takes=SetLogIn,
        answers={200: SetLogOut, 201: SetLogOut},
        versioned=True,
        refusals=[
            DoubtsUnconfirmed,
            cabin_actions.PlaceFilled,
            cabin_actions.LogGone,
            cabin_actions.MetalNearCut,
            cabin_actions.SetLogStands,
            VersionNeeded,
            VersionStale,
        ],
        examples=[("A log in wall A", _SET_EXAMPLE)],
        text="What lies in the wall can be recorded. What cannot be is refused: wood beyond the log or in "
        "another piece, two logs in one place. What is odd waits for `confirm_doubtful` and stays in "
        "`warnings`: less trim than usual, another log than planned, one promised to another cabin.",
    )
    def put(self, request: CrewRequest, id: UUID) -> Response:
        fields = SetLogIn.parse_put(request, partial(set_log_row, request.crew, id)) | {
            "expected": if_match(request)
        }
        _, created = setting.set_planned_log(
            crew=request.crew, id=id, fields=fields, recorded_by=request.member, at=now()
        )
        return answered(set_log_row(request.crew, id), created=created)


class UndoSetLog(APIView):
    required_roles = {"POST": Role.LEARNER}

    @describe(
        "undo_set_log",
        "Take back the record of a set log, with the reason; the record stays readable",
        takes=UndoIn,
        answers={200: SetLogOut},
        examples=[("Wrong log", {"reason": "Log 14 was set here, not log 41."})],
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        reason = UndoIn.parse(request)["reason"]
        setting.undo_planned_log(crew=request.crew, id=id, reason=reason, undone_by=request.member, at=now())
        return answered(set_log_row(request.crew, id))


class CabinSettingSheet(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_setting_sheet",
        "The setting sheet of a round: the adopted plan's logs, heights from what was really measured",
        answers={200: SettingSheetOut},
        parameters=[RoundQuery],
        refusals=[sheets.NoPlanYet, PlanStale],
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        asked = RoundQuery.parse(request)
        cabin = one_of(Cabin, crew=request.crew, id=id)
        sheet = sheets.setting_sheet(
            sheets.current_plan(cabin), cabin, asked["round"], rig=RoundQuery.rig(asked)
        )
        return Response(sheet_texts.setting_sheet_told(units_of(request.crew), sheet))


class CutList(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_cut_list",
        "What is still to be set of the adopted plan, log by log: where the saw goes, and what is done",
        answers={200: CutListOut},
        refusals=[sheets.NoPlanYet, PlanStale],
        text="Record a piece as sawn at `/prepared-pieces`, with the cuts given here.",
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        cabin = one_of(Cabin, crew=request.crew, id=id)
        return Response(cut_list(request.crew, sheets.current_plan(cabin), cabin))


class CabinReadings(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_cabin_readings",
        "Each top with its readings, what another reading is worth, and whether to plan again",
        answers={200: CabinReadingsOut},
        refusals=[NotLaidOut],
        text="Where the gap has a band, the readings of the last rounds make the plate level; where it has "
        "none, the diameters of the logs to come do. Nothing is planned again for what the band mends.",
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        cabin = one_of(Cabin, crew=request.crew, id=id)
        return Response(cabin_readings(request.crew, cabin))


class NextLog(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_next_log",
        "The log to set next: its sheet, and what each end must reach from the heights measured",
        answers={200: NextLogOut},
        parameters=[SlingQuery],
        refusals=[sheets.NoPlanYet, PlanStale],
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        cabin = one_of(Cabin, crew=request.crew, id=id)
        rig = SlingQuery.rig(SlingQuery.parse(request))
        answer = sheets.next_log(sheets.current_plan(cabin), cabin, rig=rig)
        return Response(sheet_texts.next_log_told(units_of(request.crew), answer))
