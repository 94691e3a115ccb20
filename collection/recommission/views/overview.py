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
    stood_sentence,
)


@require_safe
@needs(SEE_CARS)
def recommissioning(request: AccessRequest, pk: int) -> HttpResponse:
    """Standing time with its evidence, permissions, and the way on."""
    at = at_recommissioning(request, pk)
    if at.recommissioning is None:
        return show(request, "overview", at)
    standing, kinds = at.recommissioning.standing, choices.evidence_kinds()
    known = at.recommissioning.is_bounded
    return show(
        request,
        "overview",
        at,
        drawing=draw_standing(standing, at.today),
        lines=event_lines(standing, at.today),
        clashes=clashes(standing),
        excluded=excluded(standing),
        evidence=[(row, kinds[row.kind]) for row in at.record.evidence],
        stood=stood_sentence(at.recommissioning.stood),
        cost=money(at.recommissioning.estimate.money, at.vehicle.organisation, known=known),
        work=hours(at.recommissioning.estimate.hours, known=known),
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
        damp=f"{at.recommissioning.stood.damp_share:.0%}",
        stood=stood_sentence(at.recommissioning.stood),
        conditions=sorted(at.recommissioning.stood.conditions),
    )
