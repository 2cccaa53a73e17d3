"""Where the cabins app lives under the API."""

urlpatterns: list = []
