"""The intake report: what a dealer or an owner reads before and after the inspection."""

from collections.abc import Iterable
from typing import Any

from django.http import HttpResponse
from django.views.decorators.http import require_safe

from collection.bridge.waking import choices
from collection.permissions import SEE_CARS, AccessRequest, needs
from collection.views.waking.common import at_waking, show
from collection.waking_words import clashes, event_lines, hours, money, stood_words


@require_safe
@needs(SEE_CARS)
def waking_report(request: AccessRequest, pk: int) -> HttpResponse:
    """The report as the car stands now, or, with ?as=before, as before anybody looked."""
    at = at_waking(request, pk)
    if at.waking is None:
        return show(request, "report", at)
    before = request.GET.get("as") == "before"
    estimate = at.waking.before if before else at.waking.estimate
    lines = [
        (line, hours(line.hours), money(line.parts, estimate.currency), money(line.money, estimate.currency))
        for line in estimate.lines
    ]
    titles = {stage.key: stage.title for stage in choices.stages()}
    by_stage = [
        (key, titles[key], money(total, estimate.currency))
        for key, total in estimate.by_stage.items()
        if total[2]
    ]
    return show(
        request, "report", at, before=before, lines=lines, by_stage=by_stage,
        total=money(estimate.money, estimate.currency), work=hours(estimate.hours),
        waiting=estimate.waiting_days, events=event_lines(at.waking.standing, at.today),
        clashes=clashes(at.waking.standing), evidence=at.record.evidence, done=_done(at.waking.states),
        urgent=sorted(at.waking.outlook, key=lambda one: (-one.likely, one.label)),
        stood=stood_words(at.waking.stood.shortest_days, at.waking.stood.longest_days),
    )  # fmt: skip


def _done(states: Iterable[Any]) -> list[tuple[str, str, Any]]:
    """Every step with a result: stage, what was done, its state."""
    names = choices.checks()
    return [
        (stage.stage, names[check.check].do, check)
        for stage in states
        for check in stage.checks if check.result is not None
    ]  # fmt: skip
