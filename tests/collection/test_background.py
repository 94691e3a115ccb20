"""Background work: what is queued, when, and that pages are right without it."""

from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.utils import timezone
from django_q.models import OrmQ, Schedule

from collection import tasks
from collection.actions.runs import queue_recompute
from collection.bridge.refresh import refresh_organisation
from collection.models import DutyRow, ForecastRun, Pressing, Tyre
from collection.queries import runs
from tests.collection.conftest import TODAY, make_car

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)


@pytest.fixture
def noon():
    with time_machine.travel(NOON, tick=False):
        yield NOON


def test_the_schedules_are_those_of_the_table_and_syncing_twice_is_harmless(db, noon):
    Schedule.objects.create(name="of an older version", func="gone", schedule_type=Schedule.HOURLY)
    for _ in range(2):
        tasks.sync_schedules(noon)
    assert {(job.name, job.func, job.minutes) for job in Schedule.objects.all()} == {
        (job.name, job.func, job.minutes) for job in tasks.PERIODIC
    }


def test_syncing_leaves_the_next_time_of_a_running_schedule_alone(db, noon):
    tasks.sync_schedules(noon)
    tasks.sync_schedules(noon + timedelta(days=3))
    assert set(Schedule.objects.values_list("next_run", flat=True)) == {noon}


def test_a_recompute_is_queued_only_once_the_change_is_stored(barn, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True) as callbacks:
        queue_recompute(barn.pk, trigger="a test")
        assert OrmQ.objects.count() == 0
    assert len(callbacks) == 1
    job = OrmQ.objects.get().task
    assert (job["func"], job["args"]) == ("collection.tasks.recompute_organisation", (barn.pk, "a test"))


def test_the_nightly_job_queues_every_organisation_once_a_day(
    barn, other_barn, noon, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        tasks.nightly()
    assert {job.task["args"] for job in OrmQ.objects.all()} == {
        (barn.pk, "nightly"), (other_barn.pk, "nightly")
    }  # fmt: skip
    for pk in (barn.pk, other_barn.pk):
        tasks.recompute_organisation(pk, runs.NIGHTLY)
    OrmQ.objects.all().delete()
    with django_capture_on_commit_callbacks(execute=True):
        tasks.nightly()
    assert OrmQ.objects.count() == 0


def test_the_night_begins_at_the_sites_own_midnight(barn, noon):
    barn.sites.update(time_zone="Pacific/Auckland")  # 13 hours ahead: their Thursday has begun at noon UTC
    assert runs.local_day(barn, noon) == TODAY + timedelta(days=1)
    ForecastRun.objects.create(organisation=barn, started_at=NOON - timedelta(hours=3), trigger=runs.NIGHTLY)
    assert runs.needs_a_run_tonight(barn, NOON)
    ForecastRun.objects.create(
        organisation=barn, started_at=NOON - timedelta(minutes=5), trigger=runs.NIGHTLY
    )
    assert not runs.needs_a_run_tonight(barn, NOON)


def test_a_nightly_run_delivered_twice_runs_once(barn, car, noon):
    for _ in range(2):
        tasks.recompute_organisation(barn.pk, runs.NIGHTLY)
    assert ForecastRun.objects.count() == 1


def test_a_run_for_an_organisation_that_is_gone_does_nothing(db):
    tasks.recompute_organisation(404, "nightly")
    assert not ForecastRun.objects.exists()


def test_a_run_records_its_length_its_cars_and_its_trigger(barn, car, neighbour_car, noon):
    tasks.recompute_organisation(barn.pk, "by hand")
    run = ForecastRun.objects.get()
    assert (run.cars, run.errors, run.trigger, run.started_at) == (2, [], "by hand", NOON)
    assert run.seconds is not None
    assert set(DutyRow.objects.values_list("computed_for", flat=True)) == {TODAY}


def test_one_bad_record_does_not_stop_the_others(barn, car, neighbour_car):
    third = make_car(barn, car.owner, model="Eight")
    Tyre.objects.create(vehicle=neighbour_car, position="front_left", date_code="9926")  # no week 99
    run = refresh_organisation(barn.pk, today=TODAY, trigger="a test")
    assert [fault["pk"] for fault in run.errors] == [str(neighbour_car.pk)]
    assert run.errors[0]["error"]
    computed = set(DutyRow.objects.values_list("vehicle", flat=True))
    assert computed == {car.pk, third.pk}


@pytest.fixture
def shown(manager, client_as):
    """The dates of one car's duties as the due page has them, after a look at it."""

    def look(car):
        answer = client_as(manager).get("/due/")
        assert answer.status_code == 200
        return {row.duty: (row.early, row.due, row.late) for row in DutyRow.objects.filter(vehicle=car)}

    return look


def test_with_the_worker_down_the_due_page_computes_what_was_never_computed(barn, car, shown):
    refresh_organisation(barn.pk, today=timezone.localdate(), trigger="a test")
    right = {row.duty: (row.early, row.due, row.late) for row in DutyRow.objects.filter(vehicle=car)}
    assert right
    DutyRow.objects.all().delete()
    Pressing.objects.all().delete()
    assert shown(car) == right


def test_with_the_worker_down_the_due_page_recomputes_what_is_of_yesterday(barn, car, shown):
    today = timezone.localdate()
    refresh_organisation(barn.pk, today=today, trigger="a test")
    right = {row.duty: (row.early, row.due, row.late) for row in DutyRow.objects.filter(vehicle=car)}
    yesterday = today - timedelta(days=1)
    DutyRow.objects.update(computed_for=yesterday, due=today - timedelta(days=400))
    Pressing.objects.update(computed_for=yesterday)
    assert shown(car) == right
    assert set(DutyRow.objects.values_list("computed_for", flat=True)) == {today}


def test_rows_of_an_older_version_of_the_models_are_recomputed_on_reading(barn, car, shown):
    refresh_organisation(barn.pk, today=timezone.localdate(), trigger="a test")
    DutyRow.objects.update(models_version=0)
    Pressing.objects.update(models_version=0)
    shown(car)
    assert 0 not in set(DutyRow.objects.values_list("models_version", flat=True))
