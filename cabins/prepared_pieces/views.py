"""Addresses of pieces prepared before they are set: sawn, peeled, notched, moved to the wall."""

from functools import partial
from uuid import UUID

from django.utils.timezone import now
from rest_framework.response import Response
from rest_framework.views import APIView

from cabins.filters import PreparedPieceFilters
from cabins.prepared_pieces.actions import PreparedPieceStands, prepare_piece, undo_prepared_piece
from cabins.prepared_pieces.queries import prepared_piece_row, prepared_pieces_of
from cabins.prepared_pieces.serializers import PreparedPieceIn, PreparedPieceOut, PreparedPiecePage
from cabins.set_logs.actions import LogGone, MetalNearCut
from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.answers import answered
from crews.api.describe import describe
from crews.api.versions import VersionNeeded, VersionStale, if_match
from crews.history.sync import synced_page, synced_parameters
from inventory.logs.checks import DoubtsUnconfirmed
from inventory.logs.serializers import ReasonIn

_BY_TIME = {"prepared_at": "prepared_at"}
_EXAMPLE = {
    "log": "9a4e1c55-7d31-4b0c-8f2a-1e6d5c4b3a20",
    "near_butt_mm": "1 in",
    "near_tip_mm": "12' 9\"",
    "marks": ["sawn"],
    "prepared_at": "2026-05-04T10:40:00Z",
}


class PreparedPieces(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_prepared_pieces",
        "Pieces recorded as sawn, peeled, notched or at the wall, undone ones too",
        answers={200: PreparedPiecePage},
        parameters=synced_parameters(PreparedPieceFilters, _BY_TIME),
    )
    def get(self, request: CrewRequest) -> Response:
        rows = prepared_pieces_of(request.crew)
        return Response(synced_page(request, rows, filters=PreparedPieceFilters, orders=_BY_TIME))


class OnePreparedPiece(APIView):
    required_roles = {"GET": Role.LEARNER, "PUT": Role.LEARNER}

    @describe("show_prepared_piece", "One prepared piece", answers={200: PreparedPieceOut})
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return answered(prepared_piece_row(request.crew, id))

    @describe(
        "prepare_piece",
        "Record that a part of a log is sawn, peeled, notched or at the wall",
        takes=PreparedPieceIn,
        answers={200: PreparedPieceOut, 201: PreparedPieceOut},
        versioned=True,
        refusals=[
            DoubtsUnconfirmed,
            LogGone,
            MetalNearCut,
            PreparedPieceStands,
            VersionNeeded,
            VersionStale,
        ],
        examples=[("Sawn, for no place yet", _EXAMPLE)],
        text="A sawn piece is a piece to the planner: it fits where its length fits, its log has what is "
        "left, and no plan joins it again. Marks (but for `sawn`) and remarks may be changed later.",
    )
    def put(self, request: CrewRequest, id: UUID) -> Response:
        fields = PreparedPieceIn.parse_put(request, partial(prepared_piece_row, request.crew, id)) | {
            "expected": if_match(request)
        }
        _, created = prepare_piece(crew=request.crew, id=id, recorded_by=request.member, at=now(), **fields)
        return answered(prepared_piece_row(request.crew, id), created=created)


class UndoPreparedPiece(APIView):
    required_roles = {"POST": Role.LEARNER}

    @describe(
        "undo_prepared_piece",
        "Take back the record of a prepared piece, with the reason; the record stays readable",
        takes=ReasonIn,
        answers={200: PreparedPieceOut},
        refusals=[PreparedPieceStands],
        examples=[("Not sawn yet", {"reason": "Ticked the wrong line; it lies whole on its rack."})],
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        reason = ReasonIn.parse(request)["reason"]
        undo_prepared_piece(crew=request.crew, id=id, reason=reason, undone_by=request.member, at=now())
        return answered(prepared_piece_row(request.crew, id))
