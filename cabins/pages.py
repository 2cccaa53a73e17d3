"""Pages of the cabins: how far each is, one cabin, its layout, and the work at the wall."""

from django.urls import path

from crews.accounts.pages import page

home = page("cabins/cabins.html")

urlpatterns = [
    path("cabins/<uuid:id>", page("cabins/cabin.html"), name="cabin-page"),
    path(
        "cabins/<uuid:id>/cut-list",
        page("cabins/cut_list.html", works_without_signal=True),
        name="cut-list-page",
    ),
    path("cabins/<uuid:id>/layout", page("cabins/layout.html"), name="layout-page"),
    path("cabins/<uuid:id>/openings", page("cabins/openings.html"), name="openings-page"),
    path("cabins/<uuid:id>/wall", page("cabins/wall.html", works_without_signal=True), name="wall-page"),
]
