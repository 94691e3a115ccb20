"""Addresses of views."""

from django.urls import path

from collection.loggers import views

urlpatterns = [
    path("loggers/", views.loggers, name="loggers"),
    path("loggers/sites/<int:pk>/", views.logger_site, name="logger_site"),
    path("loggers/buildings/<int:pk>/", views.logger_building, name="logger_building"),
    path("cars/<int:pk>/loggers/", views.car_loggers, name="car_loggers"),
    path("loggers/files/<int:pk>/", views.logger_file, name="logger_file"),
]
