"""Addresses of figures: a log's, a piece's, and what air and drying do to wood."""

from typing import Any
from uuid import UUID

from rest_framework.response import Response
from rest_framework.views import APIView

from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.describe import describe
from inventory.core.log_rules import BoardRule
from inventory.core.volume import CubicRule
from inventory.core.weight import Seasoning
from inventory.figures import queries
from inventory.figures.serializers import (
    FiguresQuery,
    LogFiguresOut,
    MoistureOut,
    MoistureQuery,
    PieceFiguresOut,
    PieceQuery,
    ShrinkageOut,
    ShrinkageQuery,
)
from inventory.scaling.queries import scaling_used

_CARE = "Weights are ranges and lifts are planned on their top; local code and licensed practice decide."


def _lift(asked: dict[str, Any]) -> queries.LiftTerms:
    return queries.LiftTerms(
        seasoning=Seasoning(asked["seasoning"]) if "seasoning" in asked else None,
        moisture_pct=asked.get("moisture_pct"),
        sling_angle_deg=asked["sling_angle_deg"],
    )


class LogFigures(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_log_figures",
        "A log's figures: diameters, crown, volumes by each rule, weight, balance, sling",
        answers={200: LogFiguresOut},
        parameters=[FiguresQuery],
        text=_CARE,
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        asked = FiguresQuery.parse(request)
        cubic, board = asked.get("cubic_rule"), asked.get("board_rule")
        return Response(
            queries.log_figures(
                request.crew,
                id,
                lift=_lift(asked),
                scaling=scaling_used(request.crew, asked),
                cubic_rules=[CubicRule(cubic)] if cubic else list(CubicRule),
                board_rules=[BoardRule(board)] if board else list(BoardRule),
            )
        )


class PieceFigures(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_piece_figures",
        "The figures of a piece that could be cut from a log",
        answers={200: PieceFiguresOut},
        parameters=[PieceQuery],
        text=_CARE,
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        asked = PieceQuery.parse(request)
        return Response(
            queries.piece_figures(
                request.crew,
                id,
                from_butt_mm=asked["from_butt_mm"],
                length_mm=asked["length_mm"],
                lift=_lift(asked),
            )
        )


class MoistureFigures(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_moisture_of_air",
        "The moisture that wood comes to in air of a temperature and humidity",
        answers={200: MoistureOut},
        parameters=[MoistureQuery],
    )
    def get(self, request: CrewRequest) -> Response:
        return Response(queries.moisture_of_air(**MoistureQuery.parse(request)))


class ShrinkageFigures(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_shrinkage",
        "What a dimension of a species loses in drying",
        answers={200: ShrinkageOut},
        parameters=[ShrinkageQuery],
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        asked = {"from_moisture_pct": None} | ShrinkageQuery.parse(request)
        return Response(queries.species_shrinkage(request.crew, id, **asked))
