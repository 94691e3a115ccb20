"""How long it stood and what has probably failed."""

from django.http import HttpResponse
from django.views.decorators.http import require_safe

from collection.care import core as choices
from collection.permissions import SEE_CARS, AccessRequest, needs
from collection.recommission.views.common import at_waking, show
from collection.recommission.words import (
    clashes,
    event_lines,
    evidence_chart,
    excluded,
    hours,
    money,
    stood_words,
)


@require_safe
@needs(SEE_CARS)
def waking(request: AccessRequest, pk: int) -> HttpResponse:
    """Standing time with its evidence, permissions, and the way on."""
    at = at_waking(request, pk)
    if at.waking is None:
        return show(request, "overview", at)
    standing, kinds = at.waking.standing, choices.evidence_kinds()
    return show(
        request,
        "overview",
        at,
        chart=evidence_chart(standing, at.today),
        level=2,
        lines=event_lines(standing, at.today),
        clashes=clashes(standing),
        excluded=excluded(standing),
        evidence=[(row, kinds[row.kind]) for row in at.record.evidence],
        stood=stood_words(at.waking.stood.shortest_days, at.waking.stood.longest_days),
        cost=money(at.waking.estimate.money, at.waking.estimate.currency),
        work=hours(at.waking.estimate.hours),
    )


@require_safe
@needs(SEE_CARS)
def waking_outlook(request: AccessRequest, pk: int) -> HttpResponse:
    """Every system: what to expect, why, what to look at first, what not to touch."""
    at = at_waking(request, pk)
    if at.waking is None:
        return show(request, "outlook", at)
    answers = sorted(at.waking.outlook, key=lambda one: (-one.likely, one.label))
    return show(
        request,
        "outlook",
        at,
        answers=answers,
        case=at.record.case,
        stood=stood_words(at.waking.stood.shortest_days, at.waking.stood.longest_days),
        conditions=sorted(at.waking.stood.conditions),
    )
