"""Choosing a task's day or person by hand, and the weeks and the year ahead."""

from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.life.duties import DUTY_TITLES, standing_at
from collection.life.refresh import recompute_stale
from collection.permissions import WORK, AccessRequest, needs
from collection.places.sites import chosen_site
from collection.round import load_charts
from collection.round.actions.plans import choose as save_choice
from collection.round.actions.plans import kept_plan
from collection.round.forms.staff import ChooseForm
from collection.round.queries import plans
from collection.round.queries import staff as hands
from collection.round.queries.weeks import week_of
from collection.web.form_faults import saved
from collection.web.templatetags.longstand import day


@needs(WORK)
def choose(request: AccessRequest, pk: int, duty: str) -> HttpResponse:
    """Pin a task to a day or give it to a person; leaving both empty gives it back to the plan."""
    vehicle = request.access.vehicle(pk)
    row = vehicle.duties.filter(duty=duty).first()
    if duty not in DUTY_TITLES and row is None:
        raise Http404
    title = row.title if row and row.title else DUTY_TITLES[duty]
    site = hands.site_of(vehicle)
    if site:
        timezone.activate(ZoneInfo(site.time_zone))
    today = timezone.localdate()
    people = [hand.person for hand in hands.hands_of(site)] if site else []
    choice = next((c for c in hands.live_choices([vehicle.pk], today) if c.duty == duty), None)
    initial = {"day": choice.day, "person": choice.person_id} if choice else {}
    form = ChooseForm(request.POST if request.method == "POST" else None, people=people, initial=initial)

    def act() -> None:
        chosen = {} if "free" in request.POST else form.cleaned_data
        save_choice(
            vehicle=vehicle,
            duty=duty,
            day=chosen.get("day"),
            person=chosen.get("person"),
            by=request.access.person,
            today=today,
            now=timezone.now(),
        )

    if request.method == "POST" and saved([form], act):
        step = plans.step_of(vehicle, duty)
        if site and kept_plan(site=site, today=today, now=timezone.now()).is_stale:
            messages.success(request, f"{title} of {vehicle}: kept. The plan is being made anew.")
        else:
            where = f"planned for {day(step.day)}, {step.person}" if step else "no place"
            messages.success(request, f"{title} of {vehicle}: {where}.")
        monday = week_of(step.day if step else today).monday
        return redirect(f"{reverse('week')}?site={site.pk if site else ''}&from={monday}#car-{vehicle.pk}")
    return render(
        request,
        "round/plans/choose.html",
        {
            "vehicle": vehicle,
            "title": title,
            "form": form,
            "choice": choice,
            "site": site,
            "step": plans.step_of(vehicle, duty),
            "trouble": plans.trouble_of(vehicle, duty),
            "duty": duty,
        },
    )


@require_safe
@needs(WORK)
def calendar(request: AccessRequest) -> HttpResponse:
    """Twelve weeks' load against hours, and the year ahead by month."""
    site = chosen_site(request)
    if site is None:
        return render(request, "round/week/no_site.html", {"title": "Coming weeks"})
    timezone.activate(ZoneInfo(site.time_zone))
    today = timezone.localdate()
    recompute_stale(request.access, today, request.access.vehicles().filter(standing_at(site)))
    kept = kept_plan(site=site, today=today, now=timezone.now())
    shown = {"site": site, "sites": request.access.sites(), "kept": kept, "today": today}
    if kept.plan:
        loads = plans.loads(kept.plan)
        shown |= {"loads": loads, "charts": [load_charts.weeks(loads), load_charts.year(kept.plan.year)]}
    return render(request, "round/plans/calendar.html", shown)
