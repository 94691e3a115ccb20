"""Background work: what is queued, when, and that pages are right without it."""

from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.db import OperationalError
from django.utils import timezone
from django_q.models import OrmQ, Schedule

from collection import tasks
from collection.host import jobs
from collection.life import fleet_run
from collection.life import queries as runs
from collection.life.actions import queue_recompute, wake_quiet_runs
from collection.life.core import compute
from collection.life.refresh import refresh_organisation
from collection.models import CarSummary, DutyRow, ForecastRun, Tyre
from collection.operations import schedules
from tests.barn import TODAY, make_car

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)


@pytest.fixture
def noon():
    with time_machine.travel(NOON, tick=False):
        yield NOON


def test_the_schedules_are_those_of_the_table_and_syncing_twice_is_harmless(db, noon):
    Schedule.objects.create(name="of an older version", func="gone", schedule_type=Schedule.HOURLY)
    for _ in range(2):
        schedules.sync_schedules(noon)
    assert {(job.name, job.func, job.minutes) for job in Schedule.objects.all()} == {
        (job.name, job.func, job.minutes) for job in schedules.PERIODIC
    }


def test_syncing_leaves_the_next_time_of_a_running_schedule_alone(db, noon):
    schedules.sync_schedules(noon)
    schedules.sync_schedules(noon + timedelta(days=3))
    assert set(Schedule.objects.values_list("next_run", flat=True)) == {noon}


def test_a_recompute_is_queued_only_once_the_change_is_stored(barn, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True) as callbacks:
        run = queue_recompute(barn.pk, trigger="a test", now=NOON)
        assert OrmQ.objects.count() == 0
    assert len(callbacks) == 1
    job = OrmQ.objects.get().task
    assert (job["func"], job["args"]) == ("collection.tasks.recompute", (run.pk,))


def test_the_nightly_job_queues_every_organisation_once_a_day(
    barn, other_barn, noon, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        tasks.nightly()
    made = set(ForecastRun.objects.values_list("pk", "organisation", "trigger", "state"))
    assert {(org, trigger, state) for _, org, trigger, state in made} == {
        (barn.pk, "nightly", "running"),
        (other_barn.pk, "nightly", "running"),
    }
    assert {job.task["args"] for job in OrmQ.objects.all()} == {(pk,) for pk, *_ in made}
    with django_capture_on_commit_callbacks(execute=True):
        tasks.nightly()
    assert OrmQ.objects.count() == ForecastRun.objects.count() == 2


def test_the_night_begins_at_the_sites_own_midnight(barn, noon):
    barn.sites.update(time_zone="Pacific/Auckland")  # 13 hours ahead: their Thursday has begun at noon UTC
    assert runs.local_day(barn, noon) == TODAY + timedelta(days=1)
    ForecastRun.objects.create(organisation=barn, started_at=NOON - timedelta(hours=3), trigger=runs.NIGHTLY)
    assert runs.needs_a_run_tonight(barn, NOON)
    ForecastRun.objects.create(
        organisation=barn, started_at=NOON - timedelta(minutes=5), trigger=runs.NIGHTLY
    )
    assert not runs.needs_a_run_tonight(barn, NOON)


def test_a_job_delivered_twice_computes_once(barn, car, noon, monkeypatch):
    run = queue_recompute(barn.pk, trigger=runs.NIGHTLY, now=noon)
    tasks.recompute(run.pk)
    computed_at = set(DutyRow.objects.values_list("pk", "computed_at"))
    tasks.recompute(run.pk)
    assert set(DutyRow.objects.values_list("pk", "computed_at")) == computed_at
    assert ForecastRun.objects.get().cars == 1


def test_a_job_for_a_run_that_is_gone_does_nothing(db):
    tasks.recompute(404)
    assert not ForecastRun.objects.exists()


def test_a_run_records_its_length_its_cars_and_its_trigger(barn, car, neighbour_car, noon):
    tasks.recompute(queue_recompute(barn.pk, trigger="by hand", now=noon).pk)
    run = ForecastRun.objects.get()
    assert (run.cars, run.errors, run.trigger, run.started_at) == (2, [], "by hand", NOON)
    assert (run.state, run.seconds, run.parts.count()) == ("done", 0.0, 0)
    assert set(DutyRow.objects.values_list("computed_for", flat=True)) == {TODAY}


def test_a_run_of_no_cars_ends(barn, noon):
    tasks.recompute(queue_recompute(barn.pk, trigger="by hand", now=noon).pk)
    assert (ForecastRun.objects.get().state, ForecastRun.objects.get().cars) == ("done", 0)


@pytest.fixture
def parts_of_one_car(monkeypatch):
    monkeypatch.setattr(fleet_run, "PART", 1)


def test_a_run_goes_on_where_a_killed_worker_left_it(
    barn, car, neighbour_car, noon, parts_of_one_car, monkeypatch
):
    run = queue_recompute(barn.pk, trigger="by hand", now=noon)

    class Killed(BaseException):
        """What no handler of ours catches, as none catches a kill."""

    def once_only(*_):
        monkeypatch.setattr(fleet_run, "compute_isolating_faults", killed)
        return right(barn.pk, [car.pk], TODAY)

    def killed(*_):
        raise Killed

    right = fleet_run.compute_isolating_faults
    monkeypatch.setattr(fleet_run, "compute_isolating_faults", once_only)
    with pytest.raises(Killed):
        tasks.recompute(run.pk)
    monkeypatch.setattr(fleet_run, "compute_isolating_faults", right)
    run.refresh_from_db()
    assert (run.state, run.seconds) == ("running", None)
    assert list(run.parts.order_by("pk").values_list("cars", flat=True)) == [1, 0]
    assert set(DutyRow.objects.values_list("vehicle", flat=True)) == {car.pk}
    tasks.recompute(run.pk)
    run.refresh_from_db()
    assert (run.state, run.cars) == ("done", 2)
    assert set(DutyRow.objects.values_list("vehicle", flat=True)) == {car.pk, neighbour_car.pk}


def test_a_job_does_whatever_was_left_by_jobs_that_were_lost(barn, other_barn, car, foreign_car, noon):
    lost = queue_recompute(other_barn.pk, trigger="by hand", now=noon)
    tasks.recompute(queue_recompute(barn.pk, trigger="by hand", now=noon).pk)
    lost.refresh_from_db()
    assert (lost.state, lost.cars) == ("done", 1)


def test_a_run_whose_last_worker_died_before_saying_so_is_ended(barn, car, noon):
    run = queue_recompute(barn.pk, trigger="by hand", now=noon)
    run.parts.update(done_at=noon, cars=1)
    tasks.recompute(run.pk)
    run.refresh_from_db()
    assert (run.state, run.cars) == ("done", 1)


def test_a_job_stops_after_its_turn_and_queues_the_rest(
    barn, car, neighbour_car, noon, parts_of_one_car, monkeypatch, django_capture_on_commit_callbacks
):
    monkeypatch.setattr(tasks, "A_TURN", timedelta(0))
    run = queue_recompute(barn.pk, trigger="by hand", now=noon)
    with django_capture_on_commit_callbacks(execute=True):
        tasks.recompute(run.pk)
    assert [job.task["args"] for job in OrmQ.objects.all()] == [(run.pk,)]
    assert run.parts.filter(done_at__isnull=True).count() == 1


def test_a_run_whose_jobs_were_lost_is_taken_up_again_once(
    barn, car, noon, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=False):
        run = queue_recompute(barn.pk, trigger="by hand", now=noon)  # and the queue forgets it
    for minutes, left in ((1, 0), (5, 1), (5, 1)):
        with django_capture_on_commit_callbacks(execute=True):
            wake_quiet_runs(noon + timedelta(minutes=minutes))
        assert OrmQ.objects.count() == left
    assert OrmQ.objects.get().task["args"] == (run.pk,)


def test_while_jobs_wait_no_run_counts_as_left_behind(barn, car, noon, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        queue_recompute(barn.pk, trigger="by hand", now=noon - timedelta(hours=1))
        assert OrmQ.objects.update(lock=timezone.now() - timedelta(seconds=1)) == 0
    OrmQ.objects.update(lock=timezone.now() - timedelta(seconds=1))
    with django_capture_on_commit_callbacks(execute=True):
        wake_quiet_runs(noon)
    assert OrmQ.objects.count() == 1


def test_a_later_run_replaces_one_that_is_still_going(barn, car, neighbour_car, noon, parts_of_one_car):
    first = queue_recompute(barn.pk, trigger="by hand", now=noon)
    fleet_run._do_a_part(first.parts, lambda _: TODAY)
    second = queue_recompute(barn.pk, trigger="thresholds changed", now=noon + timedelta(seconds=9))
    first.refresh_from_db()
    assert (first.state, first.cars, first.seconds) == ("replaced", 1, 9.0)
    assert ForecastRun.objects.get(pk=second.pk).state == "running"
    tasks.recompute(first.pk)  # its job comes late, and helps with what there is to do
    assert ForecastRun.objects.get(pk=second.pk).cars == 2


def test_a_queue_that_is_away_loses_no_run(barn, car, noon, monkeypatch, django_capture_on_commit_callbacks):
    def away(*_args, **_kwargs):
        raise ConnectionError("no queue there")

    monkeypatch.setattr(jobs, "async_task", away)
    with django_capture_on_commit_callbacks(execute=True):
        queue_recompute(barn.pk, trigger="by hand", now=noon)
    assert ForecastRun.objects.get().state == "running"


def test_a_database_that_goes_away_is_not_taken_for_a_bad_record(barn, car, monkeypatch):
    def gone(*_args, **_kwargs):
        raise OperationalError("server closed the connection")

    monkeypatch.setattr(compute, "gather", gone)
    with pytest.raises(OperationalError):
        refresh_organisation(barn.pk, today=TODAY, trigger="a test")
    assert ForecastRun.objects.get().state == "running"


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
    CarSummary.objects.all().delete()
    assert shown(car) == right


def test_with_the_worker_down_the_due_page_recomputes_what_is_of_yesterday(barn, car, shown):
    today = timezone.localdate()
    refresh_organisation(barn.pk, today=today, trigger="a test")
    right = {row.duty: (row.early, row.due, row.late) for row in DutyRow.objects.filter(vehicle=car)}
    yesterday = today - timedelta(days=1)
    DutyRow.objects.update(computed_for=yesterday, due=today - timedelta(days=400))
    CarSummary.objects.update(computed_for=yesterday)
    assert shown(car) == right
    assert set(DutyRow.objects.values_list("computed_for", flat=True)) == {today}


def test_rows_of_an_older_version_of_the_models_are_recomputed_on_reading(barn, car, shown):
    refresh_organisation(barn.pk, today=timezone.localdate(), trigger="a test")
    DutyRow.objects.update(models_version=0)
    CarSummary.objects.update(models_version=0)
    shown(car)
    assert 0 not in set(DutyRow.objects.values_list("models_version", flat=True))
