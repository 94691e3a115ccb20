"""Addresses of cars and their parts."""

from django.urls import path

from collection.cars.views import own_duties, removal, rules, start, vehicles

urlpatterns = [
    path("cars/", vehicles.cars, name="cars"),
    path("start/", start.start, name="start"),
    path("start/cars/", start.start_cars, name="start_cars"),
    path("cars/new/", vehicles.car_new, name="car_new"),
    path("cars/<int:pk>/edit/<slug:part>/", vehicles.car_edit, name="car_edit"),
    path("cars/<int:pk>/remove/", removal.car_remove, name="car_remove"),
    path("cars/<int:pk>/rule/<slug:duty>/", rules.car_rule, name="car_rule"),
    path("cars/<int:pk>/own/new/", own_duties.own_duty_new, name="own_duty_new"),
    path("cars/<int:pk>/own/<slug:duty>/", own_duties.own_duty, name="own_duty"),
    path("cars/<int:pk>/own/<slug:duty>/edit/", own_duties.own_duty_edit, name="own_duty_edit"),
    path("limits/own/", rules.own_rules, name="own_rules"),
    path("limits/own/kind/", rules.kind_rule_new, name="kind_rule_new"),
    path("limits/own/kind/<int:pk>/", rules.kind_rule, name="kind_rule"),
]
