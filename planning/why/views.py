"""Addresses where a lead asks a plan: why is this log here, and what if it were not."""

from uuid import UUID

from django.utils.timezone import now
from rest_framework.response import Response
from rest_framework.views import APIView

from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.answers import answered, reckoned, without_noise
from crews.api.describe import describe
from planning.plans import adoption, changes, queries, side_by_side
from planning.plans.serializers import (
    OtherPlanQuery,
    PlanChangesOut,
    SideBySideOut,
    TakeChangesIn,
    WholePlanOut,
)
from planning.why import queries as why_queries
from planning.why.serializers import PlaceQuery, WhatIfIn, WhatIfOut, WhyOut

_HERE = {"cabin": "0f8b7c66-3f2e-4a6d-9d0c-7b1a5e2c4d10", "wall": "A", "round": 2, "piece": 0}
_THERE = _HERE | {"wall": "C"}


class Why(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "explain_placement",
        "Why this log lies here, and the best other log with its price",
        answers={200: WhyOut},
        parameters=[PlaceQuery],
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        asked = PlaceQuery.parse(request)
        return reckoned(why_queries.why(request.crew, id, place=why_queries.place_of(asked)))


class WhatIf(APIView):
    required_roles = {"POST": Role.LEARNER}

    @describe(
        "try_changes",
        "What if logs of a plan were swapped, turned or replaced; nothing is stored",
        takes=WhatIfIn,
        answers={200: WhatIfOut},
        examples=[
            ("Swap two logs", {"changes": [{"kind": "swap", "place": _HERE, "with_place": _THERE}]}),
            ("Turn one", {"changes": [{"kind": "turn", "place": _HERE}]}),
        ],
        text="To keep a change, pin it: ask for a plan with the pieces given back here as `pinned`.",
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        changes = WhatIfIn.parse(request)["changes"]
        return reckoned(why_queries.what_if(request.crew, id, changes=changes))


class SideBySide(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_plans_side_by_side",
        "Two plans side by side: level, corners, waste, logs used and left, heaviest lifts, changes",
        answers={200: SideBySideOut},
        parameters=[OtherPlanQuery],
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        other = OtherPlanQuery.parse(request)["other"]
        return reckoned(side_by_side.side_by_side(request.crew, id, other))


class PlanChanges(APIView):
    required_roles = {"GET": Role.LEARNER, "POST": Role.LEAD}

    @describe(
        "list_plan_changes",
        "What a plan changes against the one in force, and what each change gains",
        answers={200: PlanChangesOut},
        text="Logs that trade places are one change, however many go round. Each is judged alone, without "
        "what leaving the plan in force costs.",
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return reckoned(changes.plan_changes(request.crew, id))

    @describe(
        "take_plan_changes",
        "Adopt some changes of a plan; the rest of the plan in force stands",
        takes=TakeChangesIn,
        answers={200: WholePlanOut},
        refusals=[adoption.PlanStale, adoption.LogAlreadyReserved],
        examples=[
            (
                "The first and the third",
                {
                    "id": "0d5c1a34-92be-4d1f-8a6b-3b7c5d2e9f10",
                    "against": ["b7e0a6f2-3c4d-4e5f-9a0b-1c2d3e4f5a60"],
                    "changes": [0, 2],
                },
            )
        ],
        text="Makes a plan of its own and adopts it. Asking again with the same id changes nothing.",
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        asked = TakeChangesIn.parse(request)
        made = changes.take_changes(
            crew=request.crew,
            id=id,
            new_plan=asked["id"],
            against=asked["against"],
            chosen=asked["changes"],
            by=request.member,
            at=now(),
        )
        return answered(without_noise(queries.plan_row(request.crew, made.id)))
