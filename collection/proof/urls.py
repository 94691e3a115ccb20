"""Addresses of proof."""

from django.urls import path

from collection.proof import views

urlpatterns = [
    path("cars/<int:pk>/history/proof/", views.proof, name="proof"),
    path("trust/", views.trust, name="trust"),
    path("cars/<int:pk>/history/countersign/", views.countersign, name="countersign"),
    path("trust/witnesses/", views.witnesses, name="witnesses"),
    path("trust/stamps/<int:pk>/", views.stamp, name="stamp"),
    path("trust/settings/<uuid:pk>/", views.settings_proof, name="settings_proof"),
    path("trust/statements/<int:pk>/", views.statement, name="statement"),
]
