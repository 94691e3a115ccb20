"""Forecast runs and the pulse of the background worker."""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Max, QuerySet, Sum
from django_q.models import Success

from collection.models import Climate, ForecastRun, Organisation, Vehicle

HEARTBEAT = "collection.tasks.heartbeat"
NIGHTLY, BY_HAND = "nightly", "by hand"
ALIVE_WITHIN = timedelta(minutes=3)  # three times the heartbeat's interval
QUIET_FOR = timedelta(minutes=2)  # after which a run that nobody may be working on is brought up again


def organisation(pk: int) -> Organisation | None:
    """The organisation, if it is still there."""
    return Organisation.objects.filter(pk=pk).first()


def local_day(organisation: Organisation, now: datetime) -> date:
    """The date at the organisation's first site."""
    return now.astimezone(_zone(organisation)).date()


def _zone(organisation: Organisation) -> ZoneInfo:
    return ZoneInfo(organisation.sites.values_list("time_zone", flat=True).first() or "UTC")


def last_run(organisation: Organisation, trigger: str) -> ForecastRun | None:
    """The latest run of that trigger."""
    return organisation.runs.filter(trigger=trigger).first()


def needs_a_run_tonight(organisation: Organisation, now: datetime) -> bool:
    """Whether there was no nightly run since the organisation's own midnight."""
    midnight = datetime.combine(local_day(organisation, now), time(), _zone(organisation))
    # a run of a time that is yet to come was made while the clock ran ahead: it is none of tonight
    runs = organisation.runs.filter(trigger=NIGHTLY, started_at__gte=midnight)
    return not runs.filter(started_at__lte=now + ALIVE_WITHIN).exists()


def without_a_run_tonight(now: datetime) -> list[Organisation]:
    """Every organisation that still needs its nightly run."""
    return [each for each in Organisation.objects.order_by("pk") if needs_a_run_tonight(each, now)]


def last_heartbeat() -> datetime | None:
    """When the background worker last finished its smallest job."""
    stopped: datetime | None = Success.objects.filter(func=HEARTBEAT).aggregate(Max("stopped"))[
        "stopped__max"
    ]
    return stopped


def worker_is_alive(now: datetime) -> bool:
    """Whether the worker's pulse was felt lately."""
    around = (now - ALIVE_WITHIN, now + ALIVE_WITHIN)  # not one felt while the clock ran ahead
    return bool(Success.objects.filter(func=HEARTBEAT, stopped__range=around).exists())


def held(organisation: Organisation) -> None:
    """Keep other hosts from beginning a run here until the transaction ends."""
    Organisation.objects.select_for_update(no_key=True).get(pk=organisation.pk)


def quiet(now: datetime) -> QuerySet[ForecastRun]:
    """Runs that are not done and for which nobody was woken lately."""
    return ForecastRun.objects.filter(state=ForecastRun.State.RUNNING, nudged_at__lt=now - QUIET_FOR)


def with_progress(runs: QuerySet[ForecastRun]) -> QuerySet[ForecastRun]:
    """Runs with ``so_far``, how many cars of a running one are computed."""
    return runs.annotate(so_far=Sum("parts__cars")).order_by("-started_at")


def cars_standing(organisation: Organisation) -> int:
    """How many cars the organisation keeps."""
    return Vehicle.objects.filter(organisation=organisation, left_on__isnull=True).count()


def generic_climates_exist() -> bool:
    """Whether the climates that belong to everyone are there."""
    return Climate.objects.filter(organisation__isnull=True).exists()
