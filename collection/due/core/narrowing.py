"""What one reading would be worth to a window that is wide, in words; for one car."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from collection.life.core.gather import gather
from collection.life.core.memoised import memoised
from collection.life.core.store import policy_of
from collection.models import Vehicle
from scheduler.duties.conditions import Fleet
from scheduler.duties.narrowing import Narrowing, narrowing
from scheduler.duties.policy import Policy
from scheduler.vocabulary.duties import DUTY
from scheduler.vocabulary.quantities import QUANTITY


@dataclass(frozen=True)
class Worth:
    """One duty, the kind of entry that holds the reading, and the sentence."""

    duty: str
    care_kind: str
    text: str


def worth_of(vehicle: Vehicle, duties: Iterable[str], *, today: date) -> list[Worth]:
    """What one reading would do for each of the duties whose window is wide; in their order.

    ValueError where the record does not allow the computation.
    """
    fleet, policy = gather([vehicle.pk], today=today).fleet, policy_of(vehicle.organisation_id)
    measured = [duty for duty in duties if DUTY[duty].measured_by]
    gains = {duty: memoised(_narrowing, fleet, duty, float(today.toordinal()), policy) for duty in measured}
    return [_worth(duty, one) for duty, one in gains.items() if one]


def _narrowing(fleet: Fleet, duty: str, today: float, policy: Policy) -> Narrowing | None:
    return narrowing(fleet, duty, today, policy)


def _worth(duty: str, gain: Narrowing) -> Worth:
    row = QUANTITY[gain.quantity]
    left = round(gain.narrowed_days)
    text = (
        f"Its window spans {gain.width_days:.0f} days. One reading, {row.title.lower()}, about "
        f"{gain.minutes} minutes, leaves {_days(left)} if it reads as expected."
    )
    return Worth(duty, row.home, text)


def _days(days: int) -> str:
    if days < 1:
        return "less than a day"
    return "1 day" if days == 1 else f"{days} days"
