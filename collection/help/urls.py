"""Addresses of Help."""

from django.urls import path

from collection.help import views

urlpatterns = [
    path("help/", views.contents, name="help"),
    path("help/<slug:slug>/", views.page, name="help_page"),
]
