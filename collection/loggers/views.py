"""Loggers of places and cars: files in, looked at, read otherwise, accepted, withdrawn."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied, ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.care.actions.record import Edit
from collection.loggers import queries as query
from collection.loggers.actions.entries import accept_volts, withdraw_volts
from collection.loggers.actions.files import Place, read_again, read_otherwise, take_file, throw_away
from collection.loggers.actions.measured_air import accept_air, withdraw_air
from collection.loggers.charts import air_charts, volt_charts
from collection.loggers.forms import LayoutForm, PartsForm, SendForm
from collection.loggers.reading.layout import Layout
from collection.loggers.words import counts_of, summarise
from collection.models import LoggerFile, LoggerState, Vehicle
from collection.permissions import MANAGE, WORK, AccessRequest, needs
from collection.web.form_faults import saved
from collection.web.sorting import Column, Sorting
from collection.web.units import edge

FILE_COLUMNS = (
    Column("file", "File", ("name",)),
    Column("state", "State", ("state",)),
    Column("sent", "Sent", ("uploaded_at",)),
    Column("of", "Speaks of", ("understood__first",)),
)


@needs(WORK)
@require_safe
def loggers(request: AccessRequest) -> HttpResponse:
    """Every place with the files of its loggers and what was made of them."""
    listed = Sorting(request.GET, FILE_COLUMNS)
    sites = list(query.sites_with_loggers(request.access, listed))
    return render(request, "loggers/loggers.html", {"sites": sites, "heads": listed.heads})


@needs(WORK)
def logger_site(request: AccessRequest, pk: int) -> HttpResponse:
    """Send the file of a logger that stood outdoors at a site."""
    site = get_object_or_404(request.access.sites().select_related("climate"), pk=pk)
    return _send(request, site, f"Logger outdoors at {site}")


@needs(WORK)
def logger_building(request: AccessRequest, pk: int) -> HttpResponse:
    """Send the file of a logger that stood inside a building, or among the cars of a yard."""
    building = get_object_or_404(request.access.buildings().select_related("site__organisation"), pk=pk)
    return _send(request, building, f"Logger in {building}")


@needs(WORK)
def car_loggers(request: AccessRequest, pk: int) -> HttpResponse:
    """Send a file of a car's battery volts; the files that came before."""
    vehicle = request.access.vehicle(pk)
    listed = Sorting(request.GET, FILE_COLUMNS)
    files = listed.rows(vehicle.logger_files.select_related("by"))
    return _send(request, vehicle, "Volts of the battery", files=files, heads=listed.heads)


def _send(request: AccessRequest, place: Place, title: str, **shown: Any) -> HttpResponse:
    sent = request.method == "POST"
    form = SendForm(request.POST if sent else None, request.FILES if sent else None)
    taken: list[Any] = []

    def act() -> None:
        upload = form.cleaned_data["file"]
        taken.append(
            take_file(
                place=place,
                name=upload.name,
                data=upload.read(),
                by=request.access.person,
                now=timezone.now(),
                instrument=form.cleaned_data["instrument"],
            )
        )

    if sent and saved([form], act):
        if not taken[0].new:
            messages.info(request, "This file is here already: nothing was added.")
        return redirect("logger_file", taken[0].file.pk)
    vehicle = place if isinstance(place, Vehicle) else None
    return render(
        request,
        "loggers/send.html",
        {"form": form, "title": title, "place": place, "vehicle": vehicle} | shown,
    )


@needs(WORK)
def logger_file(request: AccessRequest, pk: int) -> HttpResponse:
    """One file: what was understood, its faults and gaps, and what may be done with it."""
    files = request.access.logger_files().select_related(*query.RELATED)
    file = get_object_or_404(files, pk=pk)
    if request.method == "POST":
        answer = _done(request, file)
        if answer is not None:
            return answer
    return _page(request, file, None)


def _done(request: AccessRequest, file: LoggerFile) -> HttpResponse | None:
    """Do what the button says; nothing where the page is to be shown again."""
    act = request.POST.get("act", "")
    if act in ("accept", "withdraw") and file.vehicle is None and not request.access.may(MANAGE):
        raise PermissionDenied("A manager decides what the forecast of a place rests on.")
    try:
        return {
            "read": _read,
            "again": _again,
            "accept": _accept,
            "withdraw": _withdraw,
            "away": _away,
        }.get(act, _nothing)(request, file)
    except ValidationError as fault:
        messages.error(request, " ".join(fault.messages))
        return redirect("logger_file", file.pk)


def _nothing(_request: AccessRequest, file: LoggerFile) -> HttpResponse:
    return redirect("logger_file", file.pk)


def _read(request: AccessRequest, file: LoggerFile) -> HttpResponse:
    if not file.layout:
        return redirect("logger_file", file.pk)
    form = _layout_form(request, file)
    if not form.is_valid():
        return _page(request, file, form)
    read_otherwise(file=file, layout=form.chosen(), now=timezone.now())
    return redirect("logger_file", file.pk)


def _again(_request: AccessRequest, file: LoggerFile) -> HttpResponse:
    read_again(file=file, now=timezone.now())
    return redirect("logger_file", file.pk)


def _accept(request: AccessRequest, file: LoggerFile) -> HttpResponse:
    now = timezone.now()
    if file.vehicle is None:
        edit = Edit(request.access.person, now)
        measured = accept_air(file=file, edit=edit, today=timezone.localdate())
        messages.success(
            request, f"Accepted: {measured.climate.basis}. The dates of the cars there follow it."
        )
        return redirect("logger_file", file.pk)
    parts = request.POST.getlist("parts")
    made = accept_volts(file=file, parts=parts, by=request.access.person, now=now)
    messages.success(request, f"Logged: {made} {'entry' if made == 1 else 'entries'}. The dates follow them.")
    return redirect("car", file.vehicle.pk)


def _withdraw(request: AccessRequest, file: LoggerFile) -> HttpResponse:
    if file.state != LoggerState.ACCEPTED:
        raise ValidationError("This file was not accepted: there is nothing to withdraw.")
    if file.vehicle is None:
        edit = Edit(request.access.person, timezone.now())
        withdraw_air(file=file, edit=edit, today=timezone.localdate())
        messages.success(request, f"{file}: withdrawn. The forecast does not rest on it any more.")
        return redirect("loggers")
    gone = withdraw_volts(file=file, by=request.access.person, now=timezone.now())
    messages.success(request, f"{file}: {gone} {'entry' if gone == 1 else 'entries'} withdrawn.")
    return redirect("car", file.vehicle.pk)


def _away(request: AccessRequest, file: LoggerFile) -> HttpResponse:
    throw_away(file=file)
    messages.success(request, f"{file}: thrown away.")
    return redirect("car_loggers", file.vehicle.pk) if file.vehicle else redirect("loggers")


def _layout_form(request: AccessRequest, file: LoggerFile) -> LayoutForm:
    return LayoutForm(
        request.POST if request.method == "POST" else None,
        layout=Layout.from_json(file.layout),
        columns=file.understood.get("columns", []),
        of_battery=file.vehicle_id is not None,
    )


def _page(request: AccessRequest, file: LoggerFile, form: LayoutForm | None) -> HttpResponse:
    units = edge(request.access.person.units)
    days = list(query.days_of(file))
    charts = (volt_charts if file.vehicle_id else air_charts)(days, units) if days else []
    may_change = bool(file.layout) and file.state == LoggerState.READ
    if may_change and form is None:
        form = LayoutForm(
            layout=Layout.from_json(file.layout),
            columns=file.understood.get("columns", []),
            of_battery=file.vehicle_id is not None,
        )
    counts = counts_of(file, timezone.now()) if file.vehicle_id and file.state == LoggerState.READ else None
    shown = {
        "file": file,
        "form": form,
        "charts": charts,
        "summary": summarise(file),
        "parts": PartsForm(counts=counts) if counts and any(counts.values()) else None,
        "counts": counts,
        "busy": file.state in (LoggerState.WAITING, LoggerState.READING),
        "may_accept": file.state == LoggerState.READ
        and not file.layout.get("undecided")
        and (file.vehicle_id is not None or request.access.may(MANAGE)),
        "may_withdraw": file.state == LoggerState.ACCEPTED
        and (request.access.may(MANAGE) if file.vehicle is None else file.sensor_id is None),
    }
    return render(request, "loggers/file.html", shown)
