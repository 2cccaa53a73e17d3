"""Addresses at the wall: logs set, roof members installed, the next log, the round's setting sheet."""

from functools import partial
from uuid import UUID

from django.http import HttpResponse
from django.utils.timezone import now
from drf_spectacular.types import OpenApiTypes
from rest_framework.response import Response
from rest_framework.views import APIView

from cabins.cabins.models import Cabin
from cabins.roof_members import actions as roof_member_actions
from cabins.roof_members import views as roof_member_views
from cabins.roof_members.queries import roof_member_row
from cabins.roof_members.serializers import RoofMemberIn, RoofMemberOut
from cabins.set_logs import actions as set_log_actions
from cabins.set_logs import views as set_log_views
from cabins.set_logs.queries import set_log_row
from cabins.set_logs.serializers import SetLogIn, SetLogOut
from cabins.walls.queries import NotLaidOut
from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.accounts.versioned_rows import one_of
from crews.api.answers import answered, reckoned
from crews.api.describe import describe
from crews.api.files import WORKBOOK, WorkbookOrProblem, tabled
from crews.api.render import JsonRenderer
from crews.api.versions import VersionNeeded, VersionStale, if_match
from inventory.logs.checks import DoubtsUnconfirmed
from inventory.logs.drawing_values import units_of
from planning.cut_lists.queries import cut_list, cut_list_workbook
from planning.cut_lists.serializers import CutListOut
from planning.plans.adoption import PlanStale
from planning.readings.queries import cabin_readings
from planning.readings.serializers import CabinReadingsOut
from planning.reservations.serializers import UndoIn
from planning.sheets import queries as sheets
from planning.sheets import texts
from planning.sheets.serializers import NextLogOut, RoundQuery, SettingSheetOut, SlingQuery
from planning.walls import roof_members, set_logs

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


class OnePlannedSetLog(set_log_views.OneSetLog):
    required_roles = {"GET": Role.LEARNER, "PUT": Role.LEARNER}

    @describe(
        "set_log",
        "Record a log as set in its place",
        takes=SetLogIn,
        answers={200: SetLogOut, 201: SetLogOut},
        versioned=True,
        refusals=[
            DoubtsUnconfirmed,
            set_log_actions.PlaceFilled,
            set_log_actions.LogGone,
            set_log_actions.MetalNearCut,
            set_log_actions.SetLogStands,
            VersionNeeded,
            VersionStale,
        ],
        examples=[("A log in wall A", _SET_EXAMPLE)],
        text="What lies in the wall can be recorded. What cannot be is refused: wood beyond the log or in "
        "another piece, two logs in one place. What is odd waits for `confirm_doubtful` and stays in "
        "`warnings`: less trim than usual, another log than planned, one reserved for another cabin.",
    )
    def put(self, request: CrewRequest, id: UUID) -> Response:
        fields = SetLogIn.parse_put(request, partial(set_log_row, request.crew, id)) | {
            "expected": if_match(request)
        }
        _, created = set_logs.set_planned_log(
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
        set_logs.undo_planned_log(crew=request.crew, id=id, reason=reason, undone_by=request.member, at=now())
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
        return reckoned(texts.setting_sheet_told(units_of(request.crew), sheet))


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
        return reckoned(cut_list(request.crew, sheets.current_plan(cabin), cabin))


class CutListWorkbook(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, WorkbookOrProblem]

    @describe(
        "download_cut_list",
        "The cut list as an XLSX workbook, a row for each piece",
        answers={200: OpenApiTypes.BINARY},
        refusals=[sheets.NoPlanYet, PlanStale],
        media=WORKBOOK,
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        cabin = one_of(Cabin, crew=request.crew, id=id)
        return tabled(cut_list_workbook(request.crew, sheets.current_plan(cabin), cabin), name="cut-list")


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
        return reckoned(cabin_readings(request.crew, cabin))


class NextLogView(APIView):
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
        return reckoned(texts.next_log_told(units_of(request.crew), answer))


_EXAMPLE = {
    "cabin": "0f8b7c66-3f2e-4a6d-9d0c-7b1a5e2c4d10",
    "member": "ridge",
    "log": "9a4e1c55-7d31-4b0c-8f2a-1e6d5c4b3a20",
    "from_butt_mm": "1 ft",
    "installed_at": "2026-05-04T10:40:00Z",
}


class OnePlannedRoofMember(roof_member_views.OneRoofMember):
    required_roles = {"GET": Role.LEARNER, "PUT": Role.LEARNER}

    @describe(
        "install_member",
        "Record that a member beyond the walls was made from part of a log",
        takes=RoofMemberIn,
        answers={200: RoofMemberOut, 201: RoofMemberOut},
        versioned=True,
        refusals=[
            DoubtsUnconfirmed,
            roof_member_actions.MemberInstalled,
            set_log_actions.LogGone,
            set_log_actions.MetalNearCut,
            roof_member_actions.RoofMemberStands,
            VersionNeeded,
            VersionStale,
        ],
        examples=[("A ridge", _EXAMPLE)],
        text="A piece thinner or more bowed than the layout wants is a fault: what a member must be is "
        "changed in the layout, by whoever answers for the structure. Another log than planned, or one "
        "reserved for another cabin, waits for `confirm_doubtful`. Only remarks are changed later.",
    )
    def put(self, request: CrewRequest, id: UUID) -> Response:
        fields = RoofMemberIn.parse_put(request, partial(roof_member_row, request.crew, id)) | {
            "expected": if_match(request)
        }
        _, created = roof_members.install_planned_member(
            crew=request.crew, id=id, fields=fields, recorded_by=request.member, at=now()
        )
        return answered(roof_member_row(request.crew, id), created=created)


class UndoRoofMember(APIView):
    required_roles = {"POST": Role.LEARNER}

    @describe(
        "undo_roof_member",
        "Take back the record of a member that was made, with the reason; the record stays readable",
        takes=UndoIn,
        answers={200: RoofMemberOut},
        examples=[("Wrong log", {"reason": "The ridge was made from log 14, not log 41."})],
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        reason = UndoIn.parse(request)["reason"]
        roof_members.undo_planned_member(
            crew=request.crew, id=id, reason=reason, undone_by=request.member, at=now()
        )
        return answered(roof_member_row(request.crew, id))
