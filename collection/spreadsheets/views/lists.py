"""Every list as a workbook, as CSV and as JSON: for whoever may see the page, as its filters stand."""

from collections.abc import Callable, Iterable
from tempfile import SpooledTemporaryFile
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.http import FileResponse, Http404, HttpResponse
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_safe

from collection.cars.forms.vehicles import CarsFilter
from collection.cars.queries import cars_listed
from collection.due.forms.duties import DueFilter
from collection.due.queries.cars_due import lines_wanted
from collection.due.queries.floor_plan import floor_plan
from collection.due.queries.prices import own_rates
from collection.history.queries.shares import shares_of
from collection.life.core import choices
from collection.life.refresh import recompute_stale
from collection.models import Site
from collection.models.care import effective
from collection.people.queries import people as people_query
from collection.permissions import MANAGE, SEE_CARS, SHARE, WORK, AccessRequest, needs
from collection.places.queries import places as places_query
from collection.places.sites import chosen_site
from collection.round.actions.plans import kept_plan
from collection.round.queries import plans
from collection.round.views.paper import sheet_of
from collection.spreadsheets.lists.everything import everything
from collection.spreadsheets.lists.faults import faults_table
from collection.spreadsheets.lists.plain import dump, plain
from collection.spreadsheets.lists.records import cars_table, log_table
from collection.spreadsheets.lists.work import (
    due_table,
    floor_plan_table,
    loads_table,
    places_table,
    week_table,
)
from collection.spreadsheets.sheets.cells import Row
from collection.spreadsheets.sheets.wording import CellFormat
from collection.spreadsheets.sheets.writing import FORMS, Table, write
from collection.spreadsheets.views.rows import row_of
from collection.web.units import edge

LISTS = ("xlsx", "csv", "json")
WHOLE = ("xlsx", "zip", "json")
IN_MEMORY = 4_000_000  # bytes; a longer list goes through the disk
Build = Callable[..., list[Table]]


def saved_as(capability: str, name: str, build: Build, forms: tuple[str, ...] = LISTS) -> Any:
    """The view that saves a list; it is written whole before it is sent, so that a fault is an error page."""

    @require_safe
    @needs(capability)
    def view(request: AccessRequest, form: str, **row: Any) -> HttpResponse:
        if form not in forms:
            raise Http404
        tables = build(request, **row)
        file = SpooledTemporaryFile(IN_MEMORY)  # noqa: SIM115 - closed by the response
        write(form, tables, file)
        file.seek(0)
        stem = slugify(f"{request.access.organisation} {name} {timezone.localdate()}")
        return FileResponse(  # type: ignore[return-value]  # a streaming response is one too
            file, as_attachment=True, filename=f"{stem}.{form}", content_type=FORMS[form]
        )

    return view


def cell_format_of(request: AccessRequest) -> CellFormat:
    """In the reader's units and the organisation's zone."""
    return CellFormat(edge(request.access.person.units), request.access.time_zone)


def _faults(request: AccessRequest, pk: UUID) -> list[Table]:
    return [faults_table(row_of(request, pk, with_data=True))]


def _due(request: AccessRequest) -> list[Table]:
    today = timezone.localdate()
    recompute_stale(request.access, today)
    wanted = DueFilter(request.GET, access=request.access).wanted()
    return [due_table(lines_wanted(request.access, wanted, today))]


def _site(request: AccessRequest) -> Site:
    site = chosen_site(request)
    if site is None:
        raise Http404("There is no site yet.")
    timezone.activate(ZoneInfo(site.time_zone))
    recompute_stale(request.access, timezone.localdate())
    return site


def _week(request: AccessRequest) -> list[Table]:
    site = _site(request)
    return [week_table(sheet_of(request, site, timezone.localdate()))]


def _ahead(request: AccessRequest) -> list[Table]:
    kept = kept_plan(site=_site(request), today=timezone.localdate(), now=timezone.now())
    return [loads_table(plans.loads(kept.plan) if kept.plan else [])]


def _floor_plan(request: AccessRequest) -> list[Table]:
    site = _site(request)
    return [floor_plan_table(site, floor_plan(request.access, site=site, today=timezone.localdate()))]


def _cars(request: AccessRequest) -> list[Table]:
    access = request.access
    filters = CarsFilter(request.GET, sites=access.sites(), owners=access.owners())
    return [cars_table(cars_listed(access, **filters.wanted()), cell_format_of(request))]


def _car_log(request: AccessRequest, pk: int) -> list[Table]:
    access, car = request.access, request.access.vehicle(pk)
    entries = effective(access.entries().filter(vehicle=car))
    return [log_table(entries, cell_format_of(request), access.organisation)]


def _whole_log(request: AccessRequest) -> list[Table]:
    access = request.access
    return [log_table(effective(access.entries()), cell_format_of(request), access.organisation)]


def _places(request: AccessRequest) -> list[Table]:
    return [places_table(places_query.sites_with_places(request.access))]


def _members(request: AccessRequest) -> list[Table]:
    members = people_query.members(request.access)
    rows: list[Row] = [
        [str(m.person), m.person.email, m.get_role_display(), m.person.is_active] for m in members
    ]
    return [Table("Members", ["Name", "E-mail address", "Role", "Signs in"], rows)]


def _owners(request: AccessRequest) -> list[Table]:
    owners: Iterable[Any] = people_query.owners_with_cars(request.access)  # with the number of their cars
    rows: list[Row] = [
        [it.name, it.contact, it.address, it.cars, it.person.email if it.person else None] for it in owners
    ]
    return [Table("Owners", ["Name", "Contact", "Address", "Cars here", "Signs in as"], rows)]


def _thresholds(request: AccessRequest) -> list[Table]:
    own = {row.name: row for row in request.access.organisation.thresholds.all()}
    rows: list[Row] = [
        [
            term.label,
            term.unit,
            term.default,
            own[term.name].value if term.name in own else None,
            own[term.name].reason if term.name in own else None,
        ]
        for term in choices.thresholds()
    ]
    return [
        Table("Intervals and limits", ["Interval or limit", "Unit", "Default", "Own value", "Reason"], rows)
    ]


def _rates(request: AccessRequest) -> list[Table]:
    rows: list[Row] = [
        [name, value] for name, value in sorted(own_rates(request.access.organisation).items())
    ]
    return [Table("Prices", ["Price", f"Own value {request.access.organisation.money}".rstrip()], rows)]


def _runs(request: AccessRequest) -> list[Table]:
    return [
        dump("System runs", request.access.runs(), ("started_at", "seconds", "cars", "errors", "trigger"))
    ]


def _handovers(request: AccessRequest) -> list[Table]:
    return [
        dump("Handed over", request.access.handovers(), ("vehicle", "to", "at", "by", "left_out", "digest"))
    ]


def _statements(request: AccessRequest) -> list[Table]:
    return [dump("Signed statements", request.access.anchors(), ("number", "at", "statement", "signature"))]


def _finds(request: AccessRequest, pk: int) -> list[Table]:
    car = request.access.vehicle(pk)
    return [
        dump("Finds", car.evidence.filter(corrected_by__isnull=True, withdrawn=False).order_by("recorded_at"))
    ]


def _shares(request: AccessRequest, pk: int) -> list[Table]:
    shares: Iterable[Any] = shares_of(request.access.vehicle(pk))  # with how often each was opened
    rows: list[Row] = [
        [
            it.reader,
            str(it.made_by or ""),
            plain(it.made_at),
            it.first,
            it.last,
            plain(it.expires_at),
            plain(it.revoked_at),
            it.times,
        ]
        for it in shares
    ]
    names = ["For whom", "Made by", "Made at", "From", "To", "Ends", "Ended by hand", "Times opened"]
    return [Table("Links", names, rows)]


def _sheets(request: AccessRequest) -> list[Table]:
    names = ("name", "kind", "sent_at", "by", "rows", "state", "ended_at")
    return [dump("Tables brought in", request.access.sheets(), names)]


def _everything(request: AccessRequest) -> list[Table]:
    return everything(request.access)


due_as = saved_as(SEE_CARS, "due", _due)
week_as = saved_as(WORK, "week", _week)
calendar_as = saved_as(WORK, "coming weeks", _ahead)
floor_plan_as = saved_as(WORK, "floor-plan", _floor_plan)
cars_as = saved_as(SEE_CARS, "cars", _cars)
car_log_as = saved_as(SEE_CARS, "care log of a car", _car_log)
whole_log_as = saved_as(SEE_CARS, "care log", _whole_log)
places_as = saved_as(MANAGE, "places", _places)
members_as = saved_as(MANAGE, "members", _members)
owners_as = saved_as(MANAGE, "owners", _owners)
limits_as = saved_as(MANAGE, "limits", _thresholds)
prices_as = saved_as(MANAGE, "prices", _rates)
system_as = saved_as(MANAGE, "system runs", _runs)
handovers_as = saved_as(MANAGE, "handed over", _handovers)
statements_as = saved_as(MANAGE, "statements", _statements)
findings_as = saved_as(SEE_CARS, "findings", _finds)
shares_as = saved_as(SHARE, "links", _shares)
spreadsheets_as = saved_as(WORK, "tables", _sheets)
faults_as = saved_as(WORK, "rows to correct", _faults)
everything_as = saved_as(MANAGE, "everything", _everything, WHOLE)
