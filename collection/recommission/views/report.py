"""The intake report: what a dealer or an owner reads before and after the inspection."""

from django.http import Http404, HttpResponse
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_safe

from collection.permissions import SEE_CARS, AccessRequest, needs
from collection.proof.actions import export_history
from collection.recommission.intake import Intake, intake
from collection.recommission.paper import intake_pdf
from collection.recommission.views.common import AtRecommissioning, at_recommissioning, show


@require_safe
@needs(SEE_CARS)
def recommission_report(request: AccessRequest, pk: int) -> HttpResponse:
    """The report as the car stands now, or, with ?as=before, as before anybody looked."""
    at = at_recommissioning(request, pk)
    return show(request, "report", at, report=_intake(request, at))


@require_safe
@needs(SEE_CARS)
def recommission_report_pdf(request: AccessRequest, pk: int) -> HttpResponse:
    """The same on paper for the file: archival and tagged."""
    at = at_recommissioning(request, pk)
    report = _intake(request, at)
    if report is None:
        raise Http404(f"the recommissioning cannot be worked out: {at.fault}")
    name = f"intake-report-{slugify(report.car)}{'-before' if report.before else ''}.pdf"
    return HttpResponse(
        intake_pdf(report, export_history(at.vehicle, now=timezone.now())),
        content_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{name}"'},
    )


def _intake(request: AccessRequest, at: AtRecommissioning) -> Intake | None:
    if at.recommissioning is None:
        return None
    before, person = request.GET.get("as") == "before", request.access.person
    return intake(
        at.record, at.recommissioning, today=at.today, before=before, units=person.units, by=str(person)
    )
