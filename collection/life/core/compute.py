"""Some cars of one organisation: gathered, forecast, stored, with nobody in between."""

import logging
from collections.abc import Sequence
from datetime import date

from django.db import transaction
from django.utils import timezone

from collection.host.outage import outage_of
from collection.life.core.gather import gather
from collection.life.core.store import policy_of, store
from collection.life.summaries import summarise
from collection.models import Vehicle
from scheduler.duties.table import forecast

log = logging.getLogger(__name__)


def _hold(pks: Sequence[int]) -> None:
    """Keep others from recomputing or logging at these cars until the transaction ends.

    Who reads a car's record, then writes what follows from it, must not be overtaken in between: else
    dates of before an entry would be stored after those that it made. Always in one order: no deadlock.
    """
    list(Vehicle.objects.select_for_update(no_key=True).filter(pk__in=pks).order_by("pk").values_list("pk"))


def compute(organisation: int, pks: Sequence[int], today: date) -> None:
    """Forecast and store these cars of one organisation; call it in a transaction."""
    _hold(pks)
    gathered = gather(pks, today=today)
    if gathered.pks:
        windows = forecast(gathered.fleet, float(today.toordinal()), policy_of(organisation))
        store(gathered, windows, today=today, now=timezone.now())


def compute_isolating_faults(organisation: int, pks: list[int], today: date) -> list[dict[str, str]]:
    """Compute a batch; if it fails, halve it until the bad records stand alone, and name them."""
    try:
        with transaction.atomic():
            compute(organisation, pks, today)
    except Exception as error:
        if outage_of(error):
            raise  # no car is at fault, and none of them can be stored
        if len(pks) > 1:
            half = len(pks) // 2
            return [
                fault
                for part in (pks[:half], pks[half:])
                for fault in compute_isolating_faults(organisation, part, today)
            ]
        log.exception("car %s cannot be computed", pks[0])
        summarise(pks, today)  # its old dates, as they look today
        return [{"car": str(Vehicle.objects.get(pk=pks[0])), "pk": str(pks[0]), "error": str(error)}]
    return []
