"""Addresses of sheets: any log tried in any place, a corner, settling."""

from uuid import UUID

from rest_framework.response import Response
from rest_framework.views import APIView

from cabins import queries
from cabins.queries import sheet_texts
from cabins.serializers.queries import (
    CORNER_PARAMETERS,
    SETTLING_PARAMETERS,
    SHEET_PARAMETERS,
    CornerQuery,
    SettlingQuery,
    SheetQuery,
)
from cabins.serializers.sheets import CornerSheetOut, SettlingSheetOut, SheetOut
from config.api.describe import describe
from crews.access import CrewRequest
from crews.models import Role
from crews.versioned_rows import one_of
from inventory.drawn import units_of
from inventory.models import Log


class Sheet(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "try_log",
        "The sheet of any log tried in any place: heights to reach, notches for them, what is in the way",
        answers={200: SheetOut},
        parameters=SHEET_PARAMETERS,
        refusals=[queries.NotLaidOut],
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        cabin = queries.cabin_of(request.crew, id)
        asked = SheetQuery.parse(request)
        place = queries.place_of(cabin, asked.pop("wall"), asked.pop("round"), asked.pop("piece"))
        log = one_of(Log, crew=request.crew, id=asked.pop("log"))
        answer = queries.next_sheet(cabin, place, log, **asked)
        return Response(sheet_texts.sheet_told(units_of(request.crew), answer))


class CornerSheet(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_corner",
        "The sheet of a corner or tee: every notch and what remains; it adds up to the wall's height",
        answers={200: CornerSheetOut},
        parameters=CORNER_PARAMETERS,
        refusals=[queries.NotLaidOut],
    )
    def get(self, request: CrewRequest, id: UUID, corner: str) -> Response:
        cabin = queries.cabin_of(request.crew, id)
        answer = queries.corner_answer(cabin, corner, **CornerQuery.parse(request))
        return Response(sheet_texts.corner_told(units_of(request.crew), answer))


class Settling(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_settling",
        "How much space to leave by a named rule, and how far the walls will come down",
        answers={200: SettlingSheetOut},
        parameters=SETTLING_PARAMETERS,
        refusals=[queries.NotLaidOut, queries.CannotReckon],
        text="Two different things, side by side: the allowance by a rule (local code first), and the "
        "prediction by shrinkage and bedding down, with its range. Local code and licensed practice decide.",
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        cabin = queries.cabin_of(request.crew, id)
        answer = queries.settling_answer(cabin, **SettlingQuery.parse(request))
        return Response(sheet_texts.settling_told(units_of(request.crew), answer))
