"""Whether the service lives and is ready, for whoever watches over it."""

from django.conf import settings
from django.db import DatabaseError, connection
from django.http import HttpRequest, HttpResponse, JsonResponse

from crews.api.problems import Unavailable, problem_response


def live(request: HttpRequest) -> HttpResponse:
    """The process answers; nothing else is looked at."""
    return JsonResponse({"state": "live", "version": settings.VERSION})


def ready(request: HttpRequest) -> HttpResponse:
    """The database answers and is laid out; else 503, and requests should go elsewhere."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT EXISTS (SELECT 1 FROM crews_crew)")
            cursor.fetchone()
    except DatabaseError:
        return problem_response(Unavailable())
    return JsonResponse({"state": "ready", "version": settings.VERSION})
