"""Keeps the weeks ahead planned: on reading, after a choice by hand, and in the background."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import partial

from django.core.exceptions import ValidationError
from django.db import DatabaseError, transaction
from django.db.models import Q

from collection.host.jobs import leave
from collection.host.outage import outage_of
from collection.life import queries as runs
from collection.models import Person, PinnedChoice, Site, SitePlan, Vehicle
from collection.round.core.facts import facts_of, stamp_of
from collection.round.core.weeks import first_plan, plan_site
from collection.round.queries.plans import covers, placed
from collection.round.queries.staff import hands_of, site_of
from collection.round.queries.weeks import Placed, Week

PLAN = "collection.tasks.plan_site"
ASK_AGAIN_AFTER = timedelta(minutes=5)  # a job that was lost is asked for once more
STEPS = 4_000  # of the search for better, in the background
STEPS_WITHOUT_A_WORKER = 60  # while somebody waits, since nothing else would plan


@dataclass(frozen=True)
class Kept:
    """The plan to show, and whether a newer one is being worked out."""

    plan: SitePlan | None
    is_stale: bool


def kept_plan(*, site: Site, today: date, now: datetime) -> Kept:
    """The plan of today's facts; where a worker runs, it plans, and nobody who reads waits for that."""
    plan = SitePlan.objects.filter(site=site).first()
    if plan is None and not hands_of(site).exists():
        return Kept(None, is_stale=False)
    stamp = stamp_of(site, today)
    if plan and plan.stamp == stamp:
        return Kept(plan, is_stale=False)
    facts = facts_of(site, today)
    if plan and plan.fingerprint == facts.fingerprint():
        SitePlan.objects.filter(pk=plan.pk).update(stamp=stamp)  # something was touched, nothing changed
        return Kept(plan, is_stale=False)
    if facts.hands and runs.worker_is_alive(now):
        return Kept(_ask(site, now), is_stale=True)
    try:
        return Kept(plan_site(facts, now=now, steps=STEPS_WITHOUT_A_WORKER), is_stale=False)
    except DatabaseError as error:
        if outage_of(error) is None:
            raise
        return Kept(plan, is_stale=True)  # nothing can be stored: the week is still read


def kept_week(*, site: Site, week: Week, today: date, now: datetime) -> Placed | None:
    """Where the plan has the tasks of a week; None where it says nothing about that week."""
    plan = kept_plan(site=site, today=today, now=now).plan
    return placed(plan, week) if plan and covers(plan, week, today) else None


def _ask(site: Site, now: datetime) -> SitePlan | None:
    """Leave it to the worker, once, and give what there is; whoever asks meanwhile asks in vain."""
    unasked = Q(asked_at__isnull=True) | Q(asked_at__lt=now - ASK_AGAIN_AFTER)
    plan, is_first = first_plan(site, now)
    if is_first or SitePlan.objects.filter(unasked, pk=plan.pk).update(asked_at=now):
        transaction.on_commit(partial(leave, PLAN, site.pk))
    return None if plan.last_day < plan.computed_for else plan


def plan_now(*, site: Site, today: date, now: datetime, steps: int = STEPS) -> None:
    """Work the plan out, if its facts have changed."""
    facts = facts_of(site, today)
    if not SitePlan.objects.filter(site=site, fingerprint=facts.fingerprint()).exists():
        plan_site(facts, now=now, steps=steps)


def choose(
    *,
    vehicle: Vehicle,
    duty: str,
    day: date | None,
    person: Person | None,
    by: Person,
    today: date,
    now: datetime,
) -> None:
    """Pin a task to a day, a person, or both; neither leaves it to the plan again. The plan follows.

    ValidationError names the field: a day that is past, a person who does not work at the site.
    """
    site = site_of(vehicle)
    faults = {}
    if day and day < today:
        faults["day"] = "That day is past: choose today or a later day."
    if person and (site is None or not hands_of(site).filter(person=person).exists()):
        faults["person"] = f"{person} has no hours at this site: record them under staff and equipment first."
    if faults:
        raise ValidationError(faults)
    with transaction.atomic():
        PinnedChoice.objects.filter(vehicle=vehicle, duty=duty).delete()
        if day or person:
            PinnedChoice.objects.create(
                vehicle=vehicle, duty=duty, day=day, person=person, by=by, chosen_at=now
            )
    if site:
        kept_plan(site=site, today=today, now=now)
