"""Where the planning app lives under the API."""

urlpatterns: list = []
