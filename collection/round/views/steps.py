"""The steps at one car as a page shows them: each task with its forms and its cautions."""

from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial
from typing import cast

from django.utils import timezone
from django.utils.functional import SimpleLazyObject

from collection.care.cautions import Caution, cautions_for
from collection.care.core.meter import Meter, meter_of
from collection.care.findings import FINDINGS, Finding
from collection.care.forms.base import AtTheCar, CareForm
from collection.care.forms.registry import KIND_FORMS
from collection.care.forms.steps import FoundForm, SeenToForm, at_the_step, with_photographs
from collection.care.forms.words import REASONS, NotDoneForm
from collection.models import Bay, Entry, LastEvent
from collection.round.queries.weeks import Stop, Task
from collection.round.queries.worksheet import AtCar
from collection.web.units import Edge
from scheduler.vocabulary.care import CARE

# what a danger tag forbids
MOVES = {row.code for row in CARE if any(event.name == LastEvent.MOVED for event in row.events)}


@dataclass(frozen=True)
class Step:
    """A task with the form that says it done, the one that says why not, and what to mind."""

    task: Task
    form: CareForm
    refusal: CareForm
    cautions: tuple[Caution, ...]
    moves: bool  # starts or moves the car

    @property
    def reasons(self) -> tuple[str, ...]:
        """Why a task may not be done: one tap each."""
        return REASONS


@dataclass(frozen=True)
class Waiting:
    """What was found before, and the form that says it seen to."""

    entry: Entry
    form: CareForm


@dataclass(frozen=True)
class Worker:
    """Who stands at the car: their units, the clock, the bays that they may move a car to."""

    edge: Edge
    now: datetime
    bays: tuple[Bay, ...] = ()


def steps(stop: Stop, worker: Worker) -> list[Step]:
    """The steps of a stop in the order of its tasks."""
    meter = cast(Meter, SimpleLazyObject(partial(meter_of, stop.vehicle, timezone.localdate())))
    return [_step(stop, task, worker, meter) for task in stop.tasks]


def _step(stop: Stop, task: Task, worker: Worker, meter: Meter) -> Step:
    line = task.line
    car, place = replace(_car(stop, worker, line.duty), meter=meter), f"{stop.vehicle.pk}-{line.duty}"
    return Step(
        task=task,
        form=with_photographs(at_the_step(KIND_FORMS[line.care_kind](car=car, auto_id=f"{place}-%s"))),
        refusal=at_the_step(NotDoneForm(car=car, auto_id=f"{place}-not-%s")),
        cautions=cautions_for(line.care_kind, line.duty),
        moves=line.care_kind in MOVES,
    )


def _car(stop: Stop, worker: Worker, duty: str = "") -> AtTheCar:
    return AtTheCar(
        vehicle=stop.vehicle,
        edge=worker.edge,
        now=worker.now,
        last=stop.last,
        bays=worker.bays,
        duty=duty,
        short=True,
    )


def found_form(stop: Stop, worker: Worker) -> CareForm:
    """The form that writes down something found."""
    return with_photographs(
        at_the_step(FoundForm(car=_car(stop, worker), auto_id=f"{stop.vehicle.pk}-found-%s"))
    )


def waiting(here: AtCar, worker: Worker) -> list[Waiting]:
    """What was found before, each with its form."""
    car = _car(here.stop, worker)
    return [
        Waiting(entry, at_the_step(SeenToForm(car=car, auto_id=f"{entry.pk}-%s"))) for entry in here.findings
    ]


def findings() -> tuple[Finding, ...]:
    """What may be found: one tap each."""
    return FINDINGS
