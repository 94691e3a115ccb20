"""Addresses of import and export."""

from django.urls import path

from collection.spreadsheets.views import lists, preview, spreadsheets

urlpatterns = [
    path("spreadsheets/", spreadsheets.spreadsheets, name="spreadsheets"),
    path("spreadsheets/<uuid:pk>/", preview.spreadsheet, name="spreadsheet"),
    path("spreadsheets/<uuid:pk>/columns/", spreadsheets.spreadsheet_columns, name="spreadsheet_columns"),
    path("spreadsheets/<uuid:pk>/faults/as/<slug:form>/", lists.faults_as, name="faults_as"),
    path("spreadsheets/as/<slug:form>/", lists.spreadsheets_as, name="spreadsheets_as"),
    path("spreadsheets/everything/as/<slug:form>/", lists.everything_as, name="everything_as"),
    path("spreadsheets/care-log/as/<slug:form>/", lists.whole_log_as, name="whole_log_as"),
    path("due/as/<slug:form>/", lists.due_as, name="due_as"),
    path("week/as/<slug:form>/", lists.week_as, name="week_as"),
    path("calendar/as/<slug:form>/", lists.calendar_as, name="calendar_as"),
    path("floor-plan/as/<slug:form>/", lists.floor_plan_as, name="floor_plan_as"),
    path("cars/as/<slug:form>/", lists.cars_as, name="cars_as"),
    path("cars/<int:pk>/care-log/as/<slug:form>/", lists.car_log_as, name="car_log_as"),
    path("cars/<int:pk>/recommission/findings/as/<slug:form>/", lists.findings_as, name="findings_as"),
    path("cars/<int:pk>/shares/as/<slug:form>/", lists.shares_as, name="shares_as"),
    path("places/as/<slug:form>/", lists.places_as, name="places_as"),
    path("people/members/as/<slug:form>/", lists.members_as, name="members_as"),
    path("people/owners/as/<slug:form>/", lists.owners_as, name="owners_as"),
    path("limits/as/<slug:form>/", lists.limits_as, name="limits_as"),
    path("prices/as/<slug:form>/", lists.prices_as, name="prices_as"),
    path("system/as/<slug:form>/", lists.system_as, name="system_as"),
    path("handovers/as/<slug:form>/", lists.handovers_as, name="handovers_as"),
    path("trust/as/<slug:form>/", lists.statements_as, name="statements_as"),
]
