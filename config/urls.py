"""Every address of the service."""

from django.urls import include, path
from drf_spectacular.views import SpectacularAPIView, SpectacularSwaggerView

urlpatterns = [
    path("api/v1/", include("crews.urls")),
    path("api/v1/", include("inventory.urls")),
    path("api/v1/", include("cabins.urls")),
    path("api/v1/", include("planning.urls")),
    path("api/openapi.yaml", SpectacularAPIView.as_view(), name="schema"),
    path("api/docs", SpectacularSwaggerView.as_view(url_name="schema"), name="docs"),
]
