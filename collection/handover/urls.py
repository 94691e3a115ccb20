"""Addresses of cars that go and come."""

from django.urls import path

from collection.handover import views

urlpatterns = [
    path("cars/<int:pk>/hand-over/", views.hand_over, name="hand_over"),
    path("cars/arrive/", views.car_arrive, name="car_arrive"),
    path("handovers/", views.handovers, name="handovers"),
    path("handovers/<int:pk>/file/", views.handover_file, name="handover_file"),
    path("handovers/<int:pk>/receipt/", views.handover_receipt, name="handover_receipt"),
    path("cars/<int:pk>/receipt/", views.own_receipt, name="own_receipt"),
]
