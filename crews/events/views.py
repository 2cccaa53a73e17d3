"""The address of a crew's events."""

from rest_framework.response import Response
from rest_framework.views import APIView

from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.describe import describe
from crews.events.queries import cursor_of, read_feed
from crews.events.serializers import EventsQuery, ToldEventPage


class Events(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_events",
        "What happened, in order, as webhooks are told it",
        answers={200: ToldEventPage},
        parameters=[EventsQuery],
    )
    def get(self, request: CrewRequest) -> Response:
        asked = EventsQuery.parse(request)
        part = read_feed(
            request.crew,
            kinds=asked.get("kind", ()),
            after=cursor_of(asked.get("after", "")),
            limit=asked["limit"],
        )
        return Response({"items": part.items, "cursor": part.cursor.text(), "more": part.more})
