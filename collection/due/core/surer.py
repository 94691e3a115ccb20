"""What to measure first: the acts of two minutes that make a small collection's dates surest."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from collection.life.core.gather import gather
from collection.life.core.memoised import memoised
from collection.life.core.store import policy_of
from collection.models import Vehicle
from scheduler.duties.surer import days_narrower
from scheduler.vocabulary.first_measures import MEASURES, Measure

ACTS = 3
LEAST_DAYS = 365  # policy: only what tells of a duty of which nothing is known yet is worth that much


@dataclass(frozen=True)
class MeasureFirst:
    """One act: at which car it is worth most, by how many days its windows narrow, at how many more."""

    measure: Measure
    vehicle: Vehicle
    days: int
    others: int


def measure_first(vehicles: Sequence[Vehicle], *, today: date) -> list[MeasureFirst]:
    """The few acts that are worth most over these cars of one organisation, the best first.

    ValueError where a record does not allow it.
    """
    if not vehicles:
        return []
    by_key = {vehicle.pk: vehicle for vehicle in vehicles}
    gathered = gather(sorted(by_key), today=today)
    policy = policy_of(vehicles[0].organisation_id)
    days = memoised(days_narrower, gathered.fleet, float(today.toordinal()), policy)
    worth = []
    for measure in MEASURES:
        gains = days[measure.code]
        best = int(gains.argmax())
        if gains[best] >= LEAST_DAYS:
            more = int((gains >= LEAST_DAYS).sum()) - 1
            act = MeasureFirst(measure, by_key[gathered.pks[best]], round(float(gains[best])), more)
            worth.append((float(gains.sum()), act))
    return [act for _, act in sorted(worth, key=lambda pair: -pair[0])[:ACTS]]
