"""The worksheet as a PDF: a person's day as the phone shows it, or the week."""

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
from collection.models import Site, Vehicle
from collection.permissions import WORK, AccessRequest, needs
from collection.places.sites import chosen_site
from collection.round.actions.plans import kept_week
from collection.round.paper import PAPERS, PaperCar, PaperSheet, PaperTask, worksheet_pdf
from collection.round.queries import my_day
from collection.round.queries.kit import Item, kit
from collection.round.queries.staff import owned_at
from collection.round.queries.weeks import Round, Stop, WeekSheet, week_of, week_sheet
from collection.round.views import steps
from collection.web.templatetags.longstand import day, limit_day
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
    worker = steps.Worker(edge(request.access.person.units), timezone.now())
    size = _paper_size(request)
    if asked := request.GET.get("day"):
        made, of = _day_paper(request, site, worker, today, size), asked
    else:
        sheet = sheet_of(request, site, today)
        made, of = _paper(sheet, site, worker, today, size), str(sheet.week.monday)
    name = f'inline; filename="worksheet-{of}.pdf"'
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
            tuple(
                _car(stop, must[stop.vehicle.pk], today) for stop in walked.stops if stop.vehicle.pk in must
            ),
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
        bring=tuple(_brought(item) for item in kit(sheet.stops, owned_at(site))),
        cautions=tuple((caution.title, caution.text) for caution in cautions),
        rounds=tuple((place, cars) for place, cars in rounds if cars),
        held=tuple((f"{line.vehicle}, {line.title.lower()}", line.hold) for line in sheet.held),
        paper=paper,
    )


def _day_paper(
    request: AccessRequest, site: Site, worker: steps.Worker, today: date, paper: str
) -> PaperSheet:
    """The day of whoever asks, as their phone shows it: the same cars in the same order."""
    asked = _asked_day(request, today)
    week = week_of(asked)
    placed = kept_week(site=site, week=week, today=today, now=timezone.now())
    plan, person = my_day.stored_plan(site, today), request.access.person
    days = my_day.days_of(plan, asked, asked, person.pk) if plan else []
    if not days:
        raise Http404(f"Nothing is planned for {person} on {day(asked)}.")
    mine = days[0]
    sheet = week_sheet(request.access, site=site, week=week, today=today, placed=placed)
    stops = {stop.vehicle.pk: stop for stop in sheet.stops}
    visits = [(visit, my_day.stop_of(visit, stops)) for visit in mine.visits]
    made = [(visit, stop, steps.steps(stop, worker) if stop else []) for visit, stop in visits]
    cautions = dict.fromkeys(caution for _, _, some in made for step in some for caution in step.cautions)
    late: dict[str, list[str]] = {}
    for line in my_day.overdue(request.access, site, today, days):
        late.setdefault(_name(line.vehicle), []).append(
            f"{line.title} ({limit_day(line.by or today, today)})"
        )
    return PaperSheet(
        title=f"{day(asked)}: {mine.load}",
        site=str(site),
        week=str(person),
        printed=day(today),
        defer=DEFER,
        bring=tuple(_brought(item) for item in kit([s for _, s in visits if s], owned_at(site))),
        cautions=tuple((caution.title, caution.text) for caution in cautions),
        rounds=(("", tuple(_visit(visit, stop, some, today) for visit, stop, some in made)),),
        paper=paper,
        notes=mine.notes,
        late=tuple((car, ", ".join(words)) for car, words in late.items()),
    )


def _asked_day(request: AccessRequest, today: date) -> date:
    """The day asked for: today, or one to come."""
    try:
        asked = date.fromisoformat(request.GET["day"])
    except ValueError as fault:
        raise Http404("day is no date: write it as 2026-11-23") from fault
    if not today <= asked <= today + my_day.AHEAD:
        raise Http404("Only days of the next two weeks are printed.")
    return asked


def _visit(visit: my_day.DayVisit, stop: Stop | None, some: list[steps.Step], today: date) -> PaperCar:
    """One stay at a car: its boxes, and a line for what has none."""
    boxed = {step.task.line.duty for step in some}
    bare = [task for task in visit.tasks if task.row.duty not in boxed]
    car = visit.vehicle
    return PaperCar(
        number=car.pk,
        bay=car.bay.label if car.bay else "",
        name=str(car),
        facts=" · ".join(filter(None, [car.registration, car.bay.building.name if car.bay else "In no bay"])),
        tags=tuple(tag.details["where"] for tag in stop.tags) if stop else (),
        tasks=tuple(_task(step, today) for step in some),
        when=f"{visit.start}, {visit.minutes} min",
        also=tuple(f"{task.title}{f', {task.result}' if task.result else ''}" for task in bare),
    )


def _name(car: Vehicle) -> str:
    return f"{car.bay.label} {car}" if car.bay else str(car)


def _must(stop: Stop, worker: steps.Worker) -> list[steps.Step]:
    return [step for step in steps.steps(stop, worker) if not step.task.optional]


def _place(walked: Round) -> str:
    return walked.building.name if walked.building else "In no bay"


def _brought(item: Item) -> str:
    count = f"{item.count} × " if item.count else ""
    return f"{count}{item.name}" + (f" ({item.remark})" if item.remark else "")


def _car(stop: Stop, must: list[steps.Step], today: date) -> PaperCar:
    car = stop.vehicle
    spare = "; ".join(f"{task.line.title}, due {day(task.line.due)}" for task in stop.spare)
    return PaperCar(
        number=car.pk,
        bay=car.bay.label if car.bay else "",
        name=str(car),
        facts=" · ".join(filter(None, [car.registration, str(car.owner)])),
        tags=tuple(tag.details["where"] for tag in stop.tags),
        tasks=tuple(_task(step, today) for step in must),
        spare=spare,
    )


def _task(step: steps.Step, today: date) -> PaperTask:
    line = step.task.line
    when = limit_day(line.by, today) if line.by else "no date in sight"
    blanks = list(_blanks(step.form))
    return PaperTask(
        title=line.title,
        when=f"{when}, act now" if line.state == "act_now" else when,
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
