"""Addresses of the way through the site."""

from django.urls import path

from collection.navigation import views

urlpatterns = [
    path("setup/", views.setup, name="setup"),
    path("find/", views.search, name="find"),
]
