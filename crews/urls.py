"""Where crews, members and keys live under the API."""

from django.urls import path

from crews import history_views, views

urlpatterns = [
    path("me", views.Me.as_view()),
    path("crew", views.OwnCrew.as_view()),
    path("crews/<uuid:id>", views.FoundCrew.as_view()),
    path("members", views.Members.as_view()),
    path("members/<uuid:id>", views.OneMember.as_view()),
    path("keys", views.Keys.as_view()),
    path("keys/<uuid:id>", views.OneKey.as_view()),
    path("keys/<uuid:id>/revoke", views.RevokeKey.as_view()),
    path("history", history_views.History.as_view()),
    path("history/<str:kind>/<uuid:id>", history_views.ObjectHistory.as_view()),
]
