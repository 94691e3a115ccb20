"""A worker dead for a week, clocks that jump: it catches up once, and the record keeps its order."""

import os
import time
from datetime import UTC, datetime, timedelta

import pytest
from django.conf import settings as site_settings
from django.urls import reverse
from django_q.models import OrmQ, Schedule, Success
from django_q.scheduler import scheduler

from collection import tasks
from collection.care.actions.care import log_entry
from collection.care.actions.sweeping import AGE_S, sweep
from collection.care.queries.attachments import path_of
from collection.chain.verify import verify
from collection.host.atomic_files import store
from collection.life import queries as runs
from collection.models import Anchor, Attachment, Entry, ForecastRun, Membership, WeeklyMail
from collection.notices.actions.reminders import send_weekly_mail
from collection.notices.queries import reminders
from collection.operations import schedules, serving
from collection.proof import queries as statements
from collection.proof.actions import export_history

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)  # a Wednesday
HOUR, DAY, WEEK, YEAR = timedelta(hours=1), timedelta(days=1), timedelta(days=7), timedelta(days=365)


@pytest.fixture(autouse=True)
def clock(time_machine):
    time_machine.move_to(NOON, tick=False)
    return time_machine


@pytest.fixture
def at(clock, car, keeper):
    """Sets the clock, logs a note by it and signs what is to be signed."""

    def act(moment):
        clock.move_to(moment, tick=False)
        logged = log_entry(
            vehicle=car,
            kind="note",
            done_at=None,
            by=keeper,
            now=moment,
            note="Seen.",
            idempotency_key=f"at {moment.isoformat()} {Entry.objects.count()}",
        )
        tasks.sign_statements()
        return logged.entry

    return act


def verdict(car, moment):
    return verify(export_history(car, now=moment))


# the worker was dead for a week


def test_after_a_week_without_a_worker_each_job_comes_round_once(db, clock):
    schedules.sync_schedules(NOON)
    clock.move_to(NOON + WEEK, tick=False)
    for _ in range(3):
        scheduler()
    funcs = sorted(job.task["func"] for job in OrmQ.objects.all())
    assert funcs == sorted(job.func for job in schedules.PERIODIC)
    assert all(NOON + WEEK < row.next_run <= NOON + WEEK + DAY for row in Schedule.objects.all())


def test_the_weekly_mail_of_missed_weeks_goes_once(keeper, clock):
    mail = WeeklyMail.objects.create(
        membership=Membership.objects.get(person=keeper), last_monday=NOON.date() - 5 * WEEK
    )
    sent = []
    for _ in range(7):
        send_weekly_mail(mail.pk, now=NOON, send=lambda _membership, monday: sent.append(monday))
    assert sent == [NOON.date() - timedelta(days=2)]


def test_the_next_statement_covers_the_days_that_had_none_and_says_since_when(car, at):
    at(NOON)
    at(NOON + WEEK)
    statements = Anchor.objects.order_by("number")
    assert [(row.number, row.at) for row in statements] == [(1, NOON), (2, NOON + WEEK)]
    assert statements[1].statement["since"].startswith("2026-11-25T12:00:00")
    assert verdict(car, NOON + WEEK).sound


def test_managers_are_told_that_the_worker_is_not_there(client_as, manager):
    Success.objects.create(id="1", name="pulse", func=runs.HEARTBEAT, started=NOON, stopped=NOON - WEEK)
    page = client_as(manager).get(reverse("system")).content.decode()
    assert "The worker does not answer." in page
    assert "18 Nov 2026" in page


# the clock was set back, or had run ahead and was set right


@pytest.mark.parametrize("back", [timedelta(minutes=30), HOUR * 5, DAY, YEAR], ids=str)
def test_a_clock_set_back_leaves_the_record_in_its_order_and_says_so(car, at, client_as, keeper, back):
    at(NOON - DAY)
    last = at(NOON)
    entry = at(NOON - back)
    assert entry.recorded_at >= last.recorded_at or back <= HOUR
    assert entry.done_at == NOON - back
    flagged = "clock_behind_s" in entry.details
    assert flagged == (back > HOUR)
    page = client_as(keeper).get(reverse("car", args=[car.pk])).content.decode()
    assert ("clock stood" in page) == flagged
    at(NOON + DAY)
    found = verdict(car, NOON + DAY)
    assert [fault.text for fault in found.faults] == []
    assert not any("Chained later" in remark for remark in found.remarks)


def test_a_clock_set_back_signs_no_day_twice(car, at):
    at(NOON - DAY)
    at(NOON)
    for back in (HOUR, 5 * HOUR, 11 * HOUR):
        at(NOON - back)
    assert Anchor.objects.count() == 2


def test_after_a_clock_that_ran_a_year_ahead_each_day_is_still_signed_once(car, at):
    at(NOON)
    at(NOON + YEAR)  # it ran ahead, and was set right
    for day in range(1, 4):
        for hour in range(3):
            at(NOON + day * DAY + hour * HOUR)
    signed = list(Anchor.objects.order_by("number").values_list("at", flat=True))
    assert signed == [NOON, NOON + YEAR, NOON + YEAR, NOON + YEAR]  # the last day's is signed once it is over
    assert verdict(car, NOON + 4 * DAY).sound
    at(NOON + YEAR + DAY)
    assert verdict(car, NOON + YEAR + DAY).sound
    assert statements.last_anchor(car.organisation).at == NOON + YEAR + DAY


def test_what_an_entry_flags_for_the_clock_does_not_make_a_repeated_sending_another(car, keeper, at):
    at(NOON)
    sent = {
        "vehicle": car,
        "kind": "note",
        "done_at": NOON - YEAR,
        "by": keeper,
        "note": "Seen.",
        "idempotency_key": "sent-twice",
    }
    first = log_entry(now=NOON - YEAR, **sent)
    again = log_entry(now=NOON - YEAR + HOUR, **sent)
    assert (first.created, again.created) == (True, False)
    assert first.entry == again.entry


def test_jobs_and_nightly_runs_and_mails_of_a_clock_that_ran_ahead_come_round_again(barn, keeper, clock):
    mail = WeeklyMail.objects.create(membership=Membership.objects.get(person=keeper))
    ahead = NOON + YEAR
    schedules.sync_schedules(ahead)
    OrmQ.objects.create(key="longstand", payload="a job", lock=ahead)
    ForecastRun.objects.create(organisation=barn, started_at=ahead, trigger=runs.NIGHTLY)
    Success.objects.create(id="1", name="pulse", func=runs.HEARTBEAT, started=ahead, stopped=ahead)
    assert send_weekly_mail(mail.pk, now=ahead, send=lambda *_: None)
    schedules.sync_schedules(NOON)
    assert set(Schedule.objects.values_list("next_run", flat=True)) == {NOON}
    assert OrmQ.objects.get().lock == NOON
    assert runs.needs_a_run_tonight(barn, NOON)
    assert not runs.worker_is_alive(NOON)
    assert reminders.mails_due(NOON) == [mail.pk]
    assert send_weekly_mail(mail.pk, now=NOON, send=lambda *_: None)
    assert not send_weekly_mail(mail.pk, now=NOON + HOUR, send=lambda *_: None)


def test_a_job_that_is_being_done_keeps_its_lock(db):
    lock = NOON + timedelta(seconds=site_settings.JOB_RETRY_S)
    OrmQ.objects.create(key="longstand", payload="a job", lock=lock)
    schedules.sync_schedules(NOON)
    assert OrmQ.objects.get().lock == lock


@pytest.mark.parametrize(("jump_s", "word"), [(3600.0, "forward"), (-86400.0, "back")])
def test_the_supervisor_sees_a_clock_that_was_set_and_sets_the_jobs_by_it(monkeypatch, jump_s, word):
    said, synced = [], []
    monkeypatch.setattr(serving, "sync_schedules", synced.append)
    monkeypatch.setattr(serving, "close_old_connections", lambda: None)
    monkeypatch.setattr(serving, "_clock_s", lambda: 1000.0)
    supervisor = serving.Supervisor([], [], said.append)
    supervisor._mind_the_clock()
    assert (said, synced) == ([], [])
    monkeypatch.setattr(serving, "_clock_s", lambda: 1000.0 + jump_s)
    supervisor._mind_the_clock()
    supervisor._mind_the_clock()
    assert synced == [NOON]
    assert len(said) == 1
    assert word in said[0]


# what a kill leaves in the media folder


@pytest.fixture
def media(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


def age(path, days):
    then = time.time() - days * 24 * 3600
    os.utime(path, (then, then))


def test_a_file_is_whole_or_not_there_and_written_anew_where_it_was_damaged(media):
    (media / "attachments" / "ab").mkdir(parents=True)
    (media / path_of("ab" * 32)).write_bytes(b"half of")
    store(path_of("ab" * 32), b"all of it")
    assert (media / path_of("ab" * 32)).read_bytes() == b"all of it"
    assert [path.name for path in media.rglob("*") if path.is_file()] == ["ab" * 32]


def test_old_files_without_an_entry_are_swept_and_no_others(media, car, at, clock):
    entry = at(NOON)
    digests = {name: name * 64 for name in "abcd"}
    for digest in digests.values():
        store(path_of(digest), b"bytes")
        age(media / path_of(digest), 30)
    Attachment.objects.create(entry=entry, number=1, name="a", type="image/jpeg", size=5, digest=digests["a"])
    age(media / path_of(digests["b"]), 1)
    half = media / "attachments" / f"{digests['d']}.0123.part"
    half.write_bytes(b"by")
    age(half, 30)
    swept_before = media / path_of(digests["a"])
    swept_before.replace(swept_before.with_name(f"{digests['a']}.swept"))  # a sweep was killed there
    now_s = time.time()
    assert sweep(now_s) == 3
    left = {path.name for path in media.rglob("*") if path.is_file()}
    assert left == {digests["a"], digests["b"]}
    assert sweep(now_s + AGE_S) == 1
