"""The storage history of one car: to read, to print, as PDF; several side by side."""

from typing import Any

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.history import EVERYTHING, Story, tell
from collection.history.forms.compare import CompareForm
from collection.history.grades import GRADES
from collection.history.paper import history_pdf
from collection.history.queries.histories import histories_listed
from collection.history.side_by_side import side_by_side
from collection.life.refresh import recompute_stale
from collection.models import Vehicle
from collection.permissions import SEE_CARS, AccessRequest, needs
from collection.proof.actions import export_history
from collection.web.sorting import Column, Sorting

CARS_A_PAGE = 50
COLUMNS = (
    Column("car", "Car", ("marque", "model", "year")),
    Column("owner", "Owner", ("owner__name",)),
    Column("begun", "Log begins", ("begun",)),
    Column("latest", "Latest entry", ("latest",)),
    Column("entries", "Entries", ("written",), numeric=True),
)


@require_safe
@needs(SEE_CARS)
def histories(request: AccessRequest) -> HttpResponse:
    """Every car with how much of its life is written down; leads to each history."""
    text = request.GET.get("text", "")[:60]
    listed = Sorting(request.GET, COLUMNS)
    pages = Paginator(listed.rows(histories_listed(request.access, text)), CARS_A_PAGE)
    shown = {"cars": pages.get_page(request.GET.get("page")), "heads": listed.heads, "text": text}
    return render(request, "history/histories.html", shown)


@require_safe
@needs(SEE_CARS)
def history(request: AccessRequest, pk: int) -> HttpResponse:
    """Where it stood, what was done, what was missed, its state now, and what it may need."""
    story = _story(request, request.access.vehicle(pk))
    context = {"vehicle": story.vehicle, "story": story, "today": story.today, "grades": GRADES}
    return render(request, "history/history.html", context)


@require_safe
@needs(SEE_CARS)
def history_as_pdf(request: AccessRequest, pk: int) -> HttpResponse:
    """The same on paper for the file: archival, tagged, with the file that proves it inside."""
    vehicle = request.access.vehicle(pk)
    now = timezone.now()
    return pdf_answer(_story(request, vehicle), export_history(vehicle, now=now))


@require_safe
@needs(SEE_CARS)
def compare(request: AccessRequest) -> HttpResponse:
    """Two to six cars side by side; the address holds the choice."""
    access, today = request.access, timezone.localdate()
    form = CompareForm(request.GET or None, cars=access.vehicles())
    shown: dict[str, Any] = {"form": form}
    if "car" in request.GET and form.is_valid():
        recompute_stale(access, today, access.vehicles().filter(pk__in=form.cleaned_data["car"]))
        cars = [access.vehicle(car.pk) for car in form.cleaned_data["car"]]
        stories = [tell(car, today=today, units=access.person.units, scope=EVERYTHING) for car in cars]
        shown |= {"stories": stories, "sections": side_by_side(stories)}
    return render(request, "history/compare.html", shown)


def _story(request: AccessRequest, vehicle: Vehicle) -> Story:
    access, today = request.access, timezone.localdate()
    recompute_stale(access, today, access.only(vehicle))
    return tell(vehicle, today=today, units=access.person.units, scope=EVERYTHING)


def pdf_answer(story: Story, file: bytes | None) -> HttpResponse:
    """The PDF of a story, with the exported history inside where there is one for its reader."""
    name = _file_name(story.vehicle, "pdf")
    return HttpResponse(
        history_pdf(story, file),
        content_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{name}"'},
    )


def file_answer(vehicle: Vehicle, file: bytes) -> HttpResponse:
    """An exported history to be saved."""
    name = _file_name(vehicle, "json")
    return HttpResponse(
        file,
        content_type="application/json",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )


def _file_name(vehicle: Vehicle, ending: str) -> str:
    words = "".join(letter if letter.isascii() and letter.isalnum() else "-" for letter in str(vehicle))
    return f"storage-history-{words.lower()}.{ending}"
