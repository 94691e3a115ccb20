"""Addresses of sensors."""

from django.urls import path

from collection.sensors import views

urlpatterns = [
    path("sensors/", views.sensors, name="sensors"),
    path("sensors/new/", views.sensor_new, name="sensor_new"),
    path("sensors/<int:pk>/end/", views.sensor_end, name="sensor_end"),
    path("sensors/readings/", views.sensor_readings, name="sensor_readings"),
]
