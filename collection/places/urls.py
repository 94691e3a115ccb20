"""Addresses of places."""

from django.urls import path

from collection.places.views import arrange, places, private

urlpatterns = [
    path("cars/<int:pk>/private/", private.car_private, name="car_private"),
    path("places/", places.places, name="places"),
    path("places/sites/new/", places.site_new, name="site_new"),
    path("places/sites/<int:pk>/", places.site_edit, name="site_edit"),
    path("places/sites/<int:pk>/private/", private.site_private, name="site_private"),
    path("places/keys/", private.private_showings, name="private_showings"),
    path("places/sites/<int:site>/buildings/new/", places.building_new, name="building_new"),
    path("places/buildings/<int:pk>/", places.building_edit, name="building_edit"),
    path("places/buildings/<int:pk>/arrange/", arrange.arrange, name="arrange"),
    path("places/buildings/<int:building>/bays/new/", places.bay_new, name="bay_new"),
    path("places/bays/<int:pk>/", places.bay_edit, name="bay_edit"),
    path("places/climates/new/", places.climate_new, name="climate_new"),
    path("places/climates/<int:pk>/", places.climate_edit, name="climate_edit"),
]
