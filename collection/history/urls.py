"""Addresses of storage history, sharing."""

from django.urls import path

from collection.history.views import history, shares

urlpatterns = [
    path("histories/", history.histories, name="histories"),
    path("cars/<int:pk>/history/", history.history, name="history"),
    path("cars/<int:pk>/history/pdf/", history.history_as_pdf, name="history_pdf"),
    path("cars/compare/", history.compare, name="compare"),
    path("cars/<int:pk>/shares/", shares.shares, name="shares"),
    path("cars/<int:pk>/shares/<int:share>/end/", shares.share_end, name="share_end"),
    path("shared/compare/", shares.shared_compare, name="shared_compare"),
    path("shared/<str:token>/", shares.shared, name="shared"),
    path("shared/<str:token>/pdf/", shares.shared_pdf, name="shared_pdf"),
    path("shared/<str:token>/files/<uuid:file>/", shares.shared_attachment, name="shared_attachment"),
    path("shared/<str:token>/file/", shares.shared_file, name="shared_file"),
]
