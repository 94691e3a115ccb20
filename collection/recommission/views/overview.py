"""How long it stood and what has probably failed."""

from django.http import HttpResponse
from django.views.decorators.http import require_safe

from collection.care import core as choices
from collection.permissions import SEE_CARS, AccessRequest, needs
from collection.recommission.standing_drawing import draw_standing
from collection.recommission.views.common import at_recommissioning, show
from collection.recommission.words import (
    clashes,
    event_lines,
    excluded,
    hours,
    money,
    stood_words,
)


@require_safe
@needs(SEE_CARS)
def recommissioning(request: AccessRequest, pk: int) -> HttpResponse:
    """Standing time with its evidence, permissions, and the way on."""
    at = at_recommissioning(request, pk)
    if at.recommissioning is None:
        return show(request, "overview", at)
    standing, kinds = at.recommissioning.standing, choices.evidence_kinds()
    return show(
        request,
        "overview",
        at,
        drawing=draw_standing(standing, at.today),
        lines=event_lines(standing, at.today),
        clashes=clashes(standing),
        excluded=excluded(standing),
        evidence=[(row, kinds[row.kind]) for row in at.record.evidence],
        stood=stood_words(at.recommissioning.stood.shortest_days, at.recommissioning.stood.longest_days),
        cost=money(at.recommissioning.estimate.money, at.recommissioning.estimate.currency),
        work=hours(at.recommissioning.estimate.hours),
    )


@require_safe
@needs(SEE_CARS)
def recommission_outlook(request: AccessRequest, pk: int) -> HttpResponse:
    """Every system: what to expect, why, what to look at first, what not to touch."""
    at = at_recommissioning(request, pk)
    if at.recommissioning is None:
        return show(request, "outlook", at)
    answers = sorted(at.recommissioning.outlook, key=lambda one: (-one.likely, one.label))
    return show(
        request,
        "outlook",
        at,
        answers=answers,
        case=at.record.case,
        stood=stood_words(at.recommissioning.stood.shortest_days, at.recommissioning.stood.longest_days),
        conditions=sorted(at.recommissioning.stood.conditions),
    )
