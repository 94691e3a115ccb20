"""Addresses of reminders and webhooks."""

from django.urls import path

from collection.notices.views import reminders, webhooks

urlpatterns = [
    path("me/reminders/", reminders.reminders, name="reminders"),
    path("calendar/<str:token>.ics", reminders.calendar_feed, name="calendar_feed"),
    path("webhooks/", webhooks.webhooks, name="webhooks"),
    path("webhooks/<uuid:pk>/", webhooks.webhook, name="webhook"),
]
