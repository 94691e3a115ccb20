"""Addresses of cars and their parts."""

from django.urls import path

from collection.cars.views import removal, start, vehicles

urlpatterns = [
    path("cars/", vehicles.cars, name="cars"),
    path("start/", start.start, name="start"),
    path("start/cars/", start.start_cars, name="start_cars"),
    path("cars/new/", vehicles.car_new, name="car_new"),
    path("cars/<int:pk>/edit/<slug:part>/", vehicles.car_edit, name="car_edit"),
    path("cars/<int:pk>/remove/", removal.car_remove, name="car_remove"),
]
