"""Where crews, members and keys live under the API."""

from django.urls import path

from crews.accounts import views
from crews.events import views as events_views
from crews.history import views as history_views
from crews.webhooks import views as webhooks_views

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
    path("events", events_views.Events.as_view()),
    path("webhooks", webhooks_views.Webhooks.as_view()),
    path("webhooks/<uuid:id>", webhooks_views.OneWebhook.as_view()),
    path("webhooks/<uuid:id>/rotate-secret", webhooks_views.RotateSecret.as_view()),
    path("webhook-deliveries", webhooks_views.WebhookDeliveries.as_view()),
    path("webhook-deliveries/<uuid:id>", webhooks_views.OneWebhookDelivery.as_view()),
    path("webhook-deliveries/<uuid:id>/redeliver", webhooks_views.DeliverAgain.as_view()),
]
