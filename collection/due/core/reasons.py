"""The reasons of one car's duties, in full; nothing is stored."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

from collection.life.core.gather import gather
from collection.life.core.memoised import memoised
from collection.life.core.store import policy_of
from collection.models import Vehicle
from scheduler.duties.conditions import Fleet
from scheduler.duties.policy import Policy
from scheduler.duties.table import BY_NAME, DUTIES
from scheduler.duties.windows import Explanation, Input
from scheduler.vocabulary.duties import DUTIES as ROWS

CARE_LOG = "care log"  # the basis of an input, where the core takes a last time from either
__all__ = ["Explanation", "Input", "explain", "learned", "reasons"]


def explain(vehicle: Vehicle, duty: str, *, today: date) -> Explanation:
    """Why one duty falls due when it does; KeyError for a duty that is not ours."""
    fleet, policy = gather([vehicle.pk], today=today).fleet, policy_of(vehicle.organisation_id)
    reason = memoised(_explained, fleet, duty, float(today.toordinal()), policy)
    return replace(reason, inputs=tuple(_as_known(vehicle, reason.inputs)))


def _as_known(vehicle: Vehicle, inputs: Sequence[Input]) -> Iterator[Input]:
    """The inputs with what the record says of last times as it is known: a document, an owner."""
    bases = {use.on: use.get_basis_display().lower() for use in vehicle.last_uses.all()}
    for given in inputs:
        day = given.on or (given.value if isinstance(given.value, date) else None)
        by_record = given.basis == CARE_LOG and day in bases
        yield replace(given, basis=bases[day]) if by_record and day else given


def _explained(fleet: Fleet, duty: str, today: float, policy: Policy) -> Explanation:
    return BY_NAME[duty].explain(fleet, today, policy)


LEARNING = tuple(duty.code for duty in ROWS if duty.learns)  # a car's own readings teach their rates


def learned(vehicle: Vehicle, *, today: date) -> dict[str, tuple[str, ...]]:
    """By duty: the rate assumed, the rate learned from this car, how many readings taught it."""
    return {duty: explain(vehicle, duty, today=today).learning for duty in LEARNING}


def reasons(vehicle: Vehicle, *, today: date) -> dict[str, Explanation]:
    """Each duty's explanation by its name; ValueError where the record does not allow it."""
    fleet, policy = gather([vehicle.pk], today=today).fleet, policy_of(vehicle.organisation_id)
    return dict(memoised(_all_explained, fleet, float(today.toordinal()), policy))


def _all_explained(fleet: Fleet, today: float, policy: Policy) -> dict[str, Explanation]:
    return {duty.name: duty.explain(fleet, today, policy) for duty in DUTIES}
