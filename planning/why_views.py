"""Addresses where a lead asks a plan: why is this log here, and what if it were not."""

from uuid import UUID

from rest_framework.response import Response
from rest_framework.views import APIView

from config.api.describe import describe
from crews.access import CrewRequest
from crews.models import Role
from planning import why_queries
from planning.why_serializers import PlaceQuery, WhatIfIn, WhatIfOut, WhyOut

_HERE = {"cabin": "0f8b7c66-3f2e-4a6d-9d0c-7b1a5e2c4d10", "wall": "A", "round": 2, "piece": 0}
_THERE = _HERE | {"wall": "C"}


class Why(APIView):
    needs = {"GET": Role.LEARNER}

    @describe(
        "explain_placement",
        "Why this log lies here, and the best other log with its price",
        answers={200: WhyOut},
        parameters=[PlaceQuery],
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        asked = PlaceQuery.parse(request)
        return Response(why_queries.why(request.crew, id, place=why_queries.place_of(asked)))


class WhatIf(APIView):
    needs = {"POST": Role.LEARNER}

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
        return Response(why_queries.what_if(request.crew, id, changes=changes))
