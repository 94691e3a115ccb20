"""What every page of a recommissioning fetches: the car, its rows, and what the core makes of them."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from collection.care.forms.base import AtTheCar, CareForm
from collection.care.queries.care import last_values, zone_of
from collection.care.views.log_forms import Claim, log_form
from collection.life.refresh import recompute_stale
from collection.models import Vehicle
from collection.permissions import AccessRequest
from collection.recommission.core.plan import Recommissioning, build_recommissioning
from collection.recommission.queries import RecommissioningRecord, recommissioning_record
from collection.web.units import edge


@dataclass(frozen=True)
class AtRecommissioning:
    """One car on a page of its recommissioning."""

    vehicle: Vehicle
    record: RecommissioningRecord
    recommissioning: Recommissioning | None
    fault: str  # why nothing could be computed
    today: date

    def page(self, **more: Any) -> dict[str, Any]:
        """What each template needs."""
        return {
            "vehicle": self.vehicle,
            "recommissioning": self.recommissioning,
            "fault": self.fault,
            "today": self.today,
            "tags": self.record.tags,
        } | more


def at_recommissioning(request: AccessRequest, pk: int) -> AtRecommissioning:
    """The car with its recommissioning worked out; a record that cannot be read is told as it is."""
    vehicle = request.access.vehicle(pk)
    timezone.activate(zone_of(vehicle))  # until the view returns: see collection.permissions.needs
    today = timezone.localdate()
    recompute_stale(request.access, today, request.access.only(vehicle))
    record = recommissioning_record(vehicle)
    try:
        return AtRecommissioning(vehicle, record, build_recommissioning(record, today=today), "", today)
    except ValueError as fault:
        return AtRecommissioning(vehicle, record, None, str(fault), today)


def show(request: AccessRequest, template: str, at: AtRecommissioning, **more: Any) -> HttpResponse:
    """The page, or the one that says what in the record is in the way."""
    name = f"recommission/{template}.html" if at.recommissioning else "recommission/fault.html"
    return render(request, name, at.page(**more))


def at_the_car(request: AccessRequest, vehicle: Vehicle, subject: str) -> AtTheCar:
    """What a form about one subject needs to know."""
    timezone.activate(zone_of(vehicle))  # until the view returns: see collection.permissions.needs
    reader = edge(request.access.person.units)
    return AtTheCar(vehicle, reader, timezone.now(), last_values(vehicle), duty=subject)


def logged(request: AccessRequest, form: CareForm) -> bool:
    """Log what the form says; what the log refuses is shown in it."""
    if form.is_valid():
        try:
            log_form(form, Claim(by=request.access.person, now=timezone.now()))
        except ValidationError as error:
            form.take_faults(error)
        else:
            return True
    form.ask_for_files_again()
    return False
