"""Addresses of what is due."""

from django.urls import path

from collection.due.views import air, collection, duties, floor_plan, limits, prices, timeline, whatif

urlpatterns = [
    path("collection/", collection.collection, name="collection"),
    path("timeline/", timeline.timeline, name="timeline"),
    path("due/", duties.due, name="due"),
    path("cars/<int:pk>/why/<slug:duty>/", duties.why, name="why"),
    path("what-if/", whatif.whatif, name="whatif"),
    path("air/", air.air, name="air"),
    path("floor-plan/", floor_plan.floor_plan, name="floor_plan"),
    path("limits/", limits.limits, name="limits"),
    path("prices/", prices.prices, name="prices"),
]
