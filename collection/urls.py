"""Every address of the site."""

from allauth.account.decorators import secure_admin_login
from django.contrib import admin
from django.urls import path
from django.views.generic import RedirectView

from collection.api import site
from collection.api.views import reference, tokens
from collection.car_page import views as vehicle_page
from collection.care.views import attachments, care
from collection.cars.views import vehicles
from collection.due.views import duties, thresholds, whatif
from collection.due.views import floor_plan as yard
from collection.due.views import prices as rates
from collection.handover import views as handovers
from collection.history.views import history, shares
from collection.loggers import views as loggers
from collection.notices.views import reminders, webhooks
from collection.operations.views import installation as operations
from collection.operations.views import runs
from collection.people.views import people, privacy, signing_in
from collection.places.views import places, private
from collection.proof import views as trust
from collection.recommission.views import evidence, faults, overview, plan, report, settings
from collection.round.views import key_in, labels, offline, paper, plans, weeks, worksheet, worksheet_entries
from collection.round.views import recommissioning as worksheet_waking
from collection.round.views import staff as hands
from collection.spreadsheets.views import lists, sheets

# the admin pages are entered by our own sign-in, second factor included
admin.site.login = secure_admin_login(admin.site.login)  # type: ignore[method-assign]

handler500 = "collection.web.views.outage.broken"

urlpatterns = [
    path("", RedirectView.as_view(pattern_name="due"), name="home"),
    # what is due, and why
    path("due/", duties.due, name="due"),
    path("cars/<int:pk>/why/<slug:duty>/", duties.why, name="why"),
    # the coming year, kept otherwise
    path("what-if/", whatif.whatif, name="whatif"),
    # the week's work
    path("week/", weeks.week, name="week"),
    # the worksheet: on the phone, on paper, on labels
    path("worksheet/", worksheet.worksheet, name="worksheet"),
    path("worksheet/cars/<int:pk>/", worksheet.worksheet_car, name="worksheet_car"),
    path("worksheet/cars/<int:pk>/found/", worksheet.found, name="found"),
    path("worksheet/cars/<int:pk>/seen-to/<uuid:entry>/", worksheet.seen_to, name="seen_to"),
    path("worksheet/cars/<int:pk>/waking/", worksheet_waking.worksheet_waking, name="worksheet_waking"),
    path("worksheet/bays/<int:pk>/", worksheet.worksheet_bay, name="worksheet_bay"),
    path("worksheet/entries/", worksheet_entries.worksheet_entries, name="worksheet_entries"),
    path("worksheet/offline/", offline.worksheet_offline, name="worksheet_offline"),
    path("worksheet/service-worker.js", offline.service_worker, name="service_worker"),
    path("worksheet/manifest.webmanifest", offline.manifest, name="manifest"),
    path("week/paper/", paper.worksheet_paper, name="worksheet_paper"),
    path("week/key-in/", key_in.key_in, name="key_in"),
    path("week/key-in/<int:pk>/", key_in.key_in_car, name="key_in_car"),
    path("labels/", labels.labels, name="labels"),
    path("week/choose/<int:pk>/<slug:duty>/", plans.choose, name="choose"),
    path("calendar/", plans.calendar, name="calendar"),
    path("yard/", yard.yard, name="yard"),
    # cars
    path("cars/", vehicles.cars, name="cars"),
    path("cars/new/", vehicles.car_new, name="car_new"),
    path("cars/<int:pk>/", vehicle_page.car, name="car"),
    path("cars/<int:pk>/edit/<slug:part>/", vehicles.car_edit, name="car_edit"),
    path("cars/<int:pk>/private/", private.car_private, name="car_private"),
    path("cars/<int:pk>/history/", history.history, name="history"),
    path("cars/<int:pk>/history/pdf/", history.history_as_pdf, name="history_pdf"),
    path("cars/compare/", history.compare, name="compare"),
    # a history for somebody without a sign-in
    path("cars/<int:pk>/shares/", shares.shares, name="shares"),
    path("cars/<int:pk>/shares/<int:share>/end/", shares.share_end, name="share_end"),
    path("shared/compare/", shares.shared_compare, name="shared_compare"),
    path("shared/<str:token>/", shares.shared, name="shared"),
    path("shared/<str:token>/pdf/", shares.shared_pdf, name="shared_pdf"),
    path("shared/<str:token>/file/", shares.shared_file, name="shared_file"),
    # cars that go and come with their history
    path("cars/<int:pk>/hand-over/", handovers.hand_over, name="hand_over"),
    path("cars/arrive/", handovers.car_arrive, name="car_arrive"),
    path("handovers/", handovers.handovers, name="handovers"),
    path("handovers/<int:pk>/file/", handovers.handover_file, name="handover_file"),
    # proof
    path("cars/<int:pk>/history/proof/", trust.proof, name="proof"),
    path("trust/", trust.trust, name="trust"),
    path("trust/statements/<int:pk>/", trust.statement, name="statement"),
    # the care log
    path("cars/<int:pk>/log/", care.log, name="log"),
    path("cars/<int:pk>/log/<slug:kind>/", care.log_kind, name="log_kind"),
    path("cars/<int:pk>/entries/<uuid:entry>/correct/", care.correct, name="correct"),
    path("cars/<int:pk>/entries/<uuid:entry>/files/<uuid:file>/", attachments.attachment, name="attachment"),
    # waking a car that stood too long
    path("cars/<int:pk>/waking/", overview.waking, name="waking"),
    path("cars/<int:pk>/waking/evidence/", evidence.evidence_kinds, name="evidence_kinds"),
    path("cars/<int:pk>/waking/evidence/<slug:kind>/", evidence.evidence_new, name="evidence_new"),
    path("cars/<int:pk>/waking/finds/<uuid:row>/", evidence.evidence_correct, name="evidence_correct"),
    path("cars/<int:pk>/waking/outlook/", overview.waking_outlook, name="waking_outlook"),
    path("cars/<int:pk>/waking/outlook/<slug:system>/", plan.waking_look, name="waking_look"),
    path("cars/<int:pk>/waking/hazards/", plan.waking_hazards, name="waking_hazards"),
    path("cars/<int:pk>/waking/put-away/", settings.waking_case, name="waking_case"),
    path("cars/<int:pk>/waking/plan/", plan.waking_plan, name="waking_plan"),
    path("cars/<int:pk>/waking/plan/<slug:check>/", plan.waking_step, name="waking_step"),
    path("cars/<int:pk>/waking/handbook/", settings.waking_handbook, name="waking_handbook"),
    path("cars/<int:pk>/waking/faults/", faults.waking_faults, name="waking_faults"),
    path("cars/<int:pk>/waking/faults/<slug:symptom>/", faults.waking_fault, name="waking_fault"),
    path("cars/<int:pk>/waking/faults/<slug:symptom>/<slug:test>/", faults.waking_test, name="waking_test"),
    path("cars/<int:pk>/waking/report/", report.waking_report, name="waking_report"),
    path("cars/<int:pk>/waking/report/pdf/", report.waking_report_pdf, name="waking_report_pdf"),
    path("cars/<int:pk>/waking/end/", settings.waking_end, name="waking_end"),
    path("waking-rates/", settings.waking_rates, name="waking_rates"),
    # places
    path("places/", places.places, name="places"),
    path("places/sites/new/", places.site_new, name="site_new"),
    path("places/sites/<int:pk>/", places.site_edit, name="site_edit"),
    path("places/sites/<int:pk>/hands/", hands.hands, name="hands"),
    path("places/sites/<int:pk>/private/", private.site_private, name="site_private"),
    path("places/sites/<int:site>/buildings/new/", places.building_new, name="building_new"),
    path("places/buildings/<int:pk>/", places.building_edit, name="building_edit"),
    path("places/buildings/<int:building>/bays/new/", places.bay_new, name="bay_new"),
    path("places/bays/<int:pk>/", places.bay_edit, name="bay_edit"),
    path("places/climates/new/", places.climate_new, name="climate_new"),
    path("places/climates/<int:pk>/", places.climate_edit, name="climate_edit"),
    # what loggers wrote down
    path("loggers/", loggers.loggers, name="loggers"),
    path("loggers/sites/<int:pk>/", loggers.logger_site, name="logger_site"),
    path("loggers/buildings/<int:pk>/", loggers.logger_building, name="logger_building"),
    path("cars/<int:pk>/loggers/", loggers.car_loggers, name="car_loggers"),
    path("loggers/files/<int:pk>/", loggers.logger_file, name="logger_file"),
    # people and the organisation's own rules
    path("people/", people.people, name="people"),
    path("people/members/new/", people.member_new, name="member_new"),
    path("people/members/<int:pk>/", people.member_edit, name="member_edit"),
    path("people/owners/new/", people.owner_new, name="owner_new"),
    path("people/owners/<int:pk>/", people.owner_edit, name="owner_edit"),
    path("people/members/<int:pk>/data/", privacy.member_data, name="member_data"),
    path("people/members/<int:pk>/forget/", privacy.member_forget, name="member_forget"),
    path("people/owners/<int:pk>/data/", privacy.owner_data, name="owner_data"),
    path("people/owners/<int:pk>/forget/", privacy.owner_forget, name="owner_forget"),
    path("me/", people.me, name="me"),
    path("me/reminders/", reminders.reminders, name="reminders"),
    path("calendar/<str:token>.ics", reminders.calendar_feed, name="calendar_feed"),
    path("me/tokens/", tokens.tokens, name="tokens"),
    path("me/data/", privacy.my_data, name="my_data"),
    path("thresholds/", thresholds.thresholds, name="thresholds"),
    path("rates/", rates.rates, name="rates"),
    path("runs/", runs.runs, name="runs"),
    # for programmes
    path("webhooks/", webhooks.webhooks, name="webhooks"),
    path("webhooks/<uuid:pk>/", webhooks.webhook, name="webhook"),
    path("api/docs/", reference.reference, name="api_docs"),
    path("api/v1/openapi.json", site.openapi, name="openapi"),
    path("api/v1/", site.api.urls),
    path("api/v1/<path:rest>", site.unknown, name="api_unknown"),
    path("installation/", operations.installation, name="installation"),
    path("health/", operations.health, name="health"),
    # tables in and out
    path("tables/", sheets.sheets, name="sheets"),
    path("tables/<uuid:pk>/", sheets.sheet, name="sheet"),
    path("tables/<uuid:pk>/columns/", sheets.sheet_columns, name="sheet_columns"),
    path("tables/as/<slug:form>/", lists.sheets_as, name="sheets_as"),
    path("tables/everything/as/<slug:form>/", lists.everything_as, name="everything_as"),
    path("tables/care-log/as/<slug:form>/", lists.whole_log_as, name="whole_log_as"),
    path("due/as/<slug:form>/", lists.due_as, name="due_as"),
    path("week/as/<slug:form>/", lists.week_as, name="week_as"),
    path("calendar/as/<slug:form>/", lists.calendar_as, name="calendar_as"),
    path("yard/as/<slug:form>/", lists.yard_as, name="yard_as"),
    path("cars/as/<slug:form>/", lists.cars_as, name="cars_as"),
    path("cars/<int:pk>/care-log/as/<slug:form>/", lists.car_log_as, name="car_log_as"),
    path("cars/<int:pk>/waking/finds/as/<slug:form>/", lists.finds_as, name="finds_as"),
    path("cars/<int:pk>/shares/as/<slug:form>/", lists.shares_as, name="shares_as"),
    path("places/as/<slug:form>/", lists.places_as, name="places_as"),
    path("people/members/as/<slug:form>/", lists.members_as, name="members_as"),
    path("people/owners/as/<slug:form>/", lists.owners_as, name="owners_as"),
    path("thresholds/as/<slug:form>/", lists.thresholds_as, name="thresholds_as"),
    path("rates/as/<slug:form>/", lists.rates_as, name="rates_as"),
    path("runs/as/<slug:form>/", lists.runs_as, name="runs_as"),
    path("handovers/as/<slug:form>/", lists.handovers_as, name="handovers_as"),
    path("trust/as/<slug:form>/", lists.statements_as, name="statements_as"),
    # the way in, and one's own sign-in
    *signing_in.urlpatterns,
    path("admin/", admin.site.urls),
]
