"""Every address of the service."""

from django.urls import include, path
from drf_spectacular.views import SpectacularSwaggerSplitView

from config import docs_pages, health, pages
from config.archive.views import CrewArchive
from config.batch_views import Batch
from config.metrics import metrics_page

urlpatterns = [
    path("", pages.home),
    path("", include("crews.accounts.pages")),
    path("", include("inventory.pages")),
    path("", include("cabins.pages")),
    path("", include("planning.pages")),
    path("health/live", health.live),
    path("health/ready", health.ready),
    path("metrics", metrics_page),
    path("problems", docs_pages.problems_index),
    path("problems/<slug:slug>", docs_pages.problem_page),
    path("docs", docs_pages.docs_index),
    path("docs/<path:name>", lambda request, name: docs_pages.docs_page(request, f"docs/{name}")),
    *(path(name, docs_pages.docs_page, {"name": name}) for name in docs_pages.AT_THE_TOP),
    path("api/v1/", docs_pages.api_root),
    path("api/v1/batch", Batch.as_view()),
    path("api/v1/crew/archive", CrewArchive.as_view()),
    path("api/v1/", include("crews.urls")),
    path("api/v1/", include("inventory.urls")),
    # Planning knows more of a log set than the cabins app below it, and has the word at shared addresses.
    path("api/v1/", include("planning.urls")),
    path("api/v1/", include("cabins.urls")),
    path("api/openapi.yaml", pages.schema, name="schema"),
    path("api/docs", SpectacularSwaggerSplitView.as_view(url_name="schema"), name="docs"),
]
handler404 = pages.not_found
handler500 = pages.server_error
