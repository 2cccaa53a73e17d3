"""Where the inventory app lives under the API."""

urlpatterns: list = []
