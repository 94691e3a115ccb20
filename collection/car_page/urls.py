"""Addresses of a car's page."""

from django.urls import path

from collection.car_page import views

urlpatterns = [
    path("cars/<int:pk>/", views.car, name="car"),
]
