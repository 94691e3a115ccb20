"""Addresses of the care log."""

from django.urls import path

from collection.care.views import attachments, care, look_over

urlpatterns = [
    path("cars/<int:pk>/log/", care.log, name="log"),
    path("cars/<int:pk>/look-over/", look_over.look_over, name="look_over"),
    path("cars/<int:pk>/log/<slug:kind>/", care.log_kind, name="log_kind"),
    path("cars/<int:pk>/entries/<uuid:entry>/correct/", care.correct, name="correct"),
    path("cars/<int:pk>/entries/<uuid:entry>/files/<uuid:file>/", attachments.attachment, name="attachment"),
    path(
        "cars/<int:pk>/entries/<uuid:entry>/files/<uuid:file>/small/",
        attachments.thumbnail,
        name="thumbnail",
    ),
]
