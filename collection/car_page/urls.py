"""Addresses of a car's page, its curves and its photographs."""

from django.urls import path

from collection.car_page import photographs, views

urlpatterns = [
    path("cars/<int:pk>/", views.car, name="car"),
    path("cars/<int:pk>/curves/", views.car_curves, name="car_curves"),
    path("cars/<int:pk>/photographs/", photographs.car_photographs, name="car_photographs"),
    path("cars/<int:pk>/photographs/show/", photographs.car_shown_by, name="car_shown_by"),
]
