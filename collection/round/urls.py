"""Addresses of the week, the phone, the paper."""

from django.urls import path

from collection.round.views import (
    from_paper,
    labels,
    offline,
    outings,
    paper,
    plans,
    ready,
    recommissioning,
    staff,
    walk,
    weeks,
    worksheet,
    worksheet_entries,
)

urlpatterns = [
    path("week/", weeks.week, name="week"),
    path("worksheet/", worksheet.worksheet, name="worksheet"),
    path("worksheet/cars/<int:pk>/", worksheet.worksheet_car, name="worksheet_car"),
    path("worksheet/cars/<int:pk>/found/", worksheet.found, name="found"),
    path("worksheet/cars/<int:pk>/seen-to/<uuid:entry>/", worksheet.seen_to, name="seen_to"),
    path(
        "worksheet/cars/<int:pk>/recommission/",
        recommissioning.worksheet_recommission,
        name="worksheet_recommission",
    ),
    path("worksheet/cars/<int:pk>/faults/", recommissioning.worksheet_faults, name="worksheet_faults"),
    path("worksheet/bays/<int:pk>/", worksheet.worksheet_bay, name="worksheet_bay"),
    path("worksheet/walk/<int:pk>/", walk.walk, name="walk"),
    path("worksheet/entries/", worksheet_entries.worksheet_entries, name="worksheet_entries"),
    path("worksheet/scan/", offline.worksheet_scan, name="worksheet_scan"),
    path("worksheet/offline/", offline.worksheet_offline, name="worksheet_offline"),
    path("worksheet/service-worker.js", offline.service_worker, name="service_worker"),
    path("worksheet/manifest.webmanifest", offline.manifest, name="manifest"),
    path("week/paper/", paper.worksheet_paper, name="worksheet_paper"),
    path("week/from-paper/", from_paper.from_paper, name="from_paper"),
    path("week/from-paper/<int:pk>/", from_paper.from_paper_car, name="from_paper_car"),
    path("labels/", labels.labels, name="labels"),
    path("week/choose/<int:pk>/<slug:duty>/", plans.choose, name="choose"),
    path("cars/<int:pk>/ready/", ready.ready, name="ready"),
    path("cars/<int:pk>/ready/<int:wish>/end/", ready.ready_end, name="ready_end"),
    path("cars/<int:pk>/outing/", outings.outing, name="outing"),
    path("calendar/", plans.calendar, name="calendar"),
    path("places/sites/<int:pk>/staff/", staff.staff, name="staff"),
]
