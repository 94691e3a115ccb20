"""The page of forecast runs: who sees it, what it says of the worker, what its button does."""

from datetime import timedelta
from types import SimpleNamespace

import pytest
from django.utils import timezone
from django_q.models import OrmQ, Task
from redis import Redis
from redis.backoff import NoBackoff
from redis.retry import Retry

from collection.host import jobs
from collection.life import queries as runs
from collection.models import ForecastRun
from tests.postgresql import unused_port


def beat(ago):
    now = timezone.now()
    return Task.objects.create(
        id="beat", name="beat", func=runs.HEARTBEAT, success=True, started=now - ago, stopped=now - ago
    )


@pytest.fixture
def barn_site(manager, client_as):
    return client_as(manager)


def text(answer):
    return " ".join(answer.content.decode().split())


def test_an_empty_list_says_what_to_do(barn_site):
    answer = barn_site.get("/system/")
    assert answer.status_code == 200
    assert "No run yet" in text(answer)


def test_a_silent_worker_is_told_with_what_it_means(barn_site):
    assert "The worker does not answer" in text(barn_site.get("/system/"))
    beat(timedelta(minutes=10))
    assert "The worker does not answer" in text(barn_site.get("/system/"))


def test_a_live_worker_is_told(barn_site):
    beat(timedelta(seconds=40))
    shown = text(barn_site.get("/system/"))
    assert "<dd>Working</dd>" in shown
    assert "does not answer" not in shown


def test_a_queue_that_does_not_answer_is_told(barn_site, monkeypatch):
    away = Redis(port=unused_port(), retry=Retry(NoBackoff(), 0))
    monkeypatch.setattr(jobs, "get_broker", lambda: SimpleNamespace(queue_size=lambda: away.llen("jobs")))
    assert "the queue does not answer" in text(barn_site.get("/system/"))


def test_without_a_worker_the_button_recomputes_at_once(barn_site, car, neighbour_car):
    answer = barn_site.post("/system/", follow=True)
    assert "Recomputed 2 cars." in text(answer)
    assert ForecastRun.objects.get().trigger == "by hand"


def test_with_a_worker_the_button_queues_the_job(barn_site, car, django_capture_on_commit_callbacks):
    beat(timedelta(seconds=40))
    with django_capture_on_commit_callbacks(execute=True):
        answer = barn_site.post("/system/")
    assert answer.status_code == 302
    assert OrmQ.objects.count() == 1
    assert ForecastRun.objects.get().state == "running"
    assert "still running" in text(barn_site.get("/system/"))
    assert "0 so far" in text(barn_site.get("/system/"))


def test_errors_name_their_cars_and_lead_to_them(barn_site, barn, car):
    ForecastRun.objects.create(
        organisation=barn,
        started_at=timezone.now(),
        seconds=1.25,
        cars=1,
        trigger="nightly",
        errors=[{"car": str(car), "pk": str(car.pk), "error": "the tyre's week is <99>"}],
    )
    shown = text(barn_site.get("/system/"))
    assert f'href="/cars/{car.pk}/"' in shown
    assert "&lt;99&gt;" in shown


def test_runs_of_another_organisation_are_not_shown(barn_site, other_barn):
    ForecastRun.objects.create(organisation=other_barn, started_at=timezone.now(), trigger="foreign")
    assert "oreign" not in text(barn_site.get("/system/"))


@pytest.mark.parametrize("person", ["keeper", "owner"])
def test_only_managers_see_and_start_runs(request, client_as, car, person):
    client = client_as(request.getfixturevalue(person))
    assert client.get("/system/").status_code == 403
    assert client.post("/system/").status_code == 403
    assert not ForecastRun.objects.exists()


@pytest.mark.parametrize("count", [2, 20])
def test_the_list_costs_the_same_queries_for_2_and_20_runs(barn_site, barn, count, django_assert_num_queries):
    now = timezone.now()
    ForecastRun.objects.bulk_create(
        ForecastRun(organisation=barn, started_at=now - timedelta(days=i), trigger="nightly", seconds=1)
        for i in range(count)
    )
    with django_assert_num_queries(10):
        barn_site.get("/system/")
