"""Addresses of the system."""

from django.urls import path

from collection.operations.views import installation, runs

urlpatterns = [
    path("system/", runs.system, name="system"),
    path("installation/", installation.installation, name="installation"),
    path("health/", installation.health, name="health"),
]
