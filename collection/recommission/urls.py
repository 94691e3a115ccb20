"""Addresses of recommissioning."""

from django.urls import path

from collection.recommission.views import evidence, faults, overview, plan, report, settings

urlpatterns = [
    path("cars/<int:pk>/recommission/", overview.recommissioning, name="recommissioning"),
    path("cars/<int:pk>/recommission/evidence/", evidence.evidence_kinds, name="evidence_kinds"),
    path("cars/<int:pk>/recommission/evidence/<slug:kind>/", evidence.evidence_new, name="evidence_new"),
    path(
        "cars/<int:pk>/recommission/evidence-rows/<uuid:row>/",
        evidence.evidence_correct,
        name="evidence_correct",
    ),
    path("cars/<int:pk>/recommission/outlook/", overview.recommission_outlook, name="recommission_outlook"),
    path(
        "cars/<int:pk>/recommission/outlook/<slug:system>/", plan.recommission_look, name="recommission_look"
    ),
    path("cars/<int:pk>/recommission/hazards/", plan.recommission_hazards, name="recommission_hazards"),
    path("cars/<int:pk>/recommission/put-away/", settings.recommission_case, name="recommission_case"),
    path("cars/<int:pk>/recommission/plan/", plan.recommission_plan, name="recommission_plan"),
    path("cars/<int:pk>/recommission/plan/<slug:check>/", plan.recommission_step, name="recommission_step"),
    path(
        "cars/<int:pk>/recommission/handbook/", settings.recommission_handbook, name="recommission_handbook"
    ),
    path("cars/<int:pk>/recommission/faults/", faults.recommission_faults, name="recommission_faults"),
    path(
        "cars/<int:pk>/recommission/faults/<slug:symptom>/",
        faults.recommission_fault,
        name="recommission_fault",
    ),
    path(
        "cars/<int:pk>/recommission/faults/<slug:symptom>/<slug:test>/",
        faults.recommission_test,
        name="recommission_test",
    ),
    path("cars/<int:pk>/recommission/report/", report.recommission_report, name="recommission_report"),
    path(
        "cars/<int:pk>/recommission/report/pdf/",
        report.recommission_report_pdf,
        name="recommission_report_pdf",
    ),
    path("cars/<int:pk>/recommission/end/", settings.recommission_end, name="recommission_end"),
]
