"""The address of a crew's events."""

from rest_framework.response import Response
from rest_framework.views import APIView

from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.describe import describe
from crews.api.waiting import PREFER, answer_when
from crews.events.queries import FeedPart, cursor_asked, read_feed
from crews.events.serializers import EventPage, EventsQuery


class Events(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_events",
        "What happened, in order, as webhooks are told it",
        answers={200: EventPage},
        parameters=[EventsQuery, PREFER],
    )
    def get(self, request: CrewRequest) -> Response:
        asked = EventsQuery.parse(request)
        after = cursor_asked(asked.get("after", ""))

        def read() -> FeedPart:
            nonlocal after  # where nothing is, the next look begins behind it
            part = read_feed(request.crew, kinds=asked.get("kind", ()), after=after, limit=asked["limit"])
            after = part.cursor
            return part

        return answer_when(request, read, there=lambda part: bool(part.items), tell=_told)


def _told(part: FeedPart) -> Response:
    return Response({"items": part.items, "cursor": part.cursor.text(), "more": part.more})
