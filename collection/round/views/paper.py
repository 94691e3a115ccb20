"""The week's worksheet as a PDF, and the page on which it is keyed in afterwards."""

from collections.abc import Iterator
from datetime import date
from zoneinfo import ZoneInfo

from django.http import Http404, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.care.cautions import DEFER
from collection.care.forms.base import CareForm
from collection.life.duties import standing_at
from collection.life.refresh import recompute_stale
from collection.models import Site
from collection.permissions import WORK, AccessRequest, needs
from collection.places.sites import chosen_site
from collection.round.actions.plans import kept_week
from collection.round.paper import PAPERS, PaperCar, PaperSheet, PaperTask, worksheet_pdf
from collection.round.queries.kit import Item, kit
from collection.round.queries.weeks import Round, Stop, WeekSheet, week_of, week_sheet
from collection.round.views import steps
from collection.web.templatetags.longstand import day
from collection.web.units import edge


def sheet_of(request: AccessRequest, site: Site, today: date) -> WeekSheet:
    """The sheet of the week asked for by ?from=, else of this week."""
    try:
        week = week_of(date.fromisoformat(request.GET.get("from") or today.isoformat()))
        placed = kept_week(site=site, week=week, today=today, now=timezone.now())
        return week_sheet(request.access, site=site, week=week, today=today, placed=placed)
    except (ValueError, OverflowError) as fault:
        raise Http404("from is no date: write it as 2026-11-23") from fault


def to_walk(sheet: WeekSheet) -> list[Stop]:
    """The stops where something must be done, as they are walked."""
    return [stop for stop in sheet.stops if any(not task.optional for task in stop.tasks)]


@require_safe
@needs(WORK)
def worksheet_paper(request: AccessRequest) -> HttpResponse:
    """The round as a PDF with boxes."""
    site = chosen_site(request)
    if site is None:
        raise Http404
    timezone.activate(ZoneInfo(site.time_zone))  # until the view returns: see collection.permissions.needs
    today = timezone.localdate()
    recompute_stale(request.access, today, request.access.vehicles().filter(standing_at(site)))
    sheet = sheet_of(request, site, today)
    worker = steps.Worker(edge(request.access.person.units), timezone.now())
    made = _paper(sheet, site, worker, today, _paper_size(request))
    name = f'inline; filename="worksheet-{sheet.week.monday}.pdf"'
    return HttpResponse(
        worksheet_pdf(made), content_type="application/pdf", headers={"Content-Disposition": name}
    )


def _paper_size(request: AccessRequest) -> str:
    asked = request.GET.get("paper", "")
    return asked if asked in dict(PAPERS) else PAPERS[0][0]


def _paper(sheet: WeekSheet, site: Site, worker: steps.Worker, today: date, paper: str) -> PaperSheet:
    must = {stop.vehicle.pk: _must(stop, worker) for stop in to_walk(sheet)}
    cautions = dict.fromkeys(caution for each in must.values() for step in each for caution in step.cautions)
    rounds = [
        (
            _place(walked),
            tuple(_car(stop, must[stop.vehicle.pk]) for stop in walked.stops if stop.vehicle.pk in must),
        )
        for walked in sheet.rounds
    ]
    week = f"{day(sheet.week.monday)} to {day(sheet.week.sunday)}"
    return PaperSheet(
        title=f"Worksheet, {site}",
        site=str(site),
        week=week,
        printed=day(today),
        defer=DEFER,
        bring=tuple(_brought(item) for item in kit(sheet.stops, site)),
        cautions=tuple((caution.title, caution.text) for caution in cautions),
        rounds=tuple((place, cars) for place, cars in rounds if cars),
        held=tuple((f"{line.vehicle}, {line.title.lower()}", line.hold) for line in sheet.held),
        paper=paper,
    )


def _must(stop: Stop, worker: steps.Worker) -> list[steps.Step]:
    return [step for step in steps.steps(stop, worker) if not step.task.optional]


def _place(walked: Round) -> str:
    return walked.building.name if walked.building else "In no bay"


def _brought(item: Item) -> str:
    count = f"{item.count} × " if item.count else ""
    return f"{count}{item.name}" + (f" ({item.remark})" if item.remark else "")


def _car(stop: Stop, must: list[steps.Step]) -> PaperCar:
    car = stop.vehicle
    spare = "; ".join(f"{task.line.title}, due {day(task.line.due)}" for task in stop.spare)
    return PaperCar(
        number=car.pk,
        bay=car.bay.label if car.bay else "",
        name=str(car),
        facts=" · ".join(filter(None, [car.registration, str(car.owner)])),
        tags=tuple(tag.details["where"] for tag in stop.tags),
        tasks=tuple(_task(step) for step in must),
        spare=spare,
    )


def _task(step: steps.Step) -> PaperTask:
    line = step.task.line
    when = f"by {day(line.by)}" + (", act now" if line.state == "act_now" else "")
    blanks = list(_blanks(step.form))
    return PaperTask(
        title=line.title,
        when=when,
        why=line.limit,
        cautions=tuple(caution.title for caution in step.cautions),
        write=tuple((label, last) for label, last, tick in blanks if not tick),
        tick=tuple(label for label, _, tick in blanks if tick),
    )


def _blanks(form: CareForm) -> Iterator[tuple[str, str, bool]]:
    """What there is room for: label, last value, whether it is a box to tick."""
    last = {str(bound.label): getattr(bound.field, "last", "") for bound in form.visible_fields()}
    for label, tick in form.blanks:
        if label != "Note":
            yield label, last.get(label, "").split(" on ")[0], tick
