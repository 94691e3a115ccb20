"""A person's calendar feed and weekly mail."""

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.life.duties import DutyLine
from collection.life.refresh import recompute_stale
from collection.models import SitePlan
from collection.notices.actions import reminders as act
from collection.notices.calendar import DayEvent, VisitEvent, calendar_file
from collection.notices.forms.reminders import MailForm
from collection.notices.queries import reminders as query
from collection.permissions import SEE_CARS, Access, AccessRequest, needs
from collection.round.queries.my_day import DayVisit, PersonDay

AHEAD = timedelta(weeks=12)
FRESH_TOKEN = "calendar feed"  # noqa: S105 - session key; the address is told once after it was made


@needs(SEE_CARS)
def reminders(request: AccessRequest) -> HttpResponse:
    """Make or end the calendar's address, ask for the weekly mail or end it."""
    membership, what = query.membership_of(request.access), request.POST.get("what")
    mail = MailForm(
        request.POST if what == "mail" else None, initial={"wanted": query.wants_mail(membership)}
    )
    if what == "feed":
        request.session[FRESH_TOKEN] = act.new_feed(membership=membership, now=timezone.now())
        return redirect("reminders")
    if what == "end":
        act.end_feed(membership=membership)
        messages.success(request, "The calendar's address answers no more.")
        return redirect("reminders")
    if what == "mail" and mail.is_valid():
        act.set_weekly_mail(membership=membership, wanted=mail.cleaned_data["wanted"])
        messages.success(request, "Saved.")
        return redirect("reminders")
    token = request.session.pop(FRESH_TOKEN, "")
    address = request.build_absolute_uri(reverse("calendar_feed", args=[token])) if token else ""
    context = {
        "feed": query.feed_of(membership),
        "address": address,
        "mail": mail,
        "sends_mail": settings.SENDS_MAIL,
    }
    return render(request, "notices/reminders.html", context)


@require_safe
def calendar_feed(request: HttpRequest, token: str) -> HttpResponse:
    """A member's round and due dates for a calendar program; the address is the key, there is no sign-in."""
    feed = query.feed_under(act.digest_of(token))
    if feed is None:
        raise Http404
    member = feed.membership
    access = Access(member.person, member.organisation, member.role)
    with timezone.override(access.time_zone):
        document = _calendar(request, access)
    headers = {"Cache-Control": "private, max-age=3600", "X-Robots-Tag": "noindex"}
    return HttpResponse(document, content_type="text/calendar; charset=utf-8", headers=headers)


def _line(line: DutyLine) -> str:
    return f"{line.title}: {line.vehicle}, {line.vehicle.bay or 'in no bay'}"


def _calendar(request: HttpRequest, access: Access) -> bytes:
    """The round as planned, with what is to be done now; where nobody plans, what falls due."""
    now, today = timezone.now(), timezone.localdate()
    recompute_stale(access, today)
    plans = query.planned_days(access, today, today + AHEAD)
    page = request.build_absolute_uri(reverse("worksheet" if access.may_work else "due"))
    whose = f"{access.organisation.pk}-{access.person.pk}@longstand"
    events: list[DayEvent | VisitEvent] = [
        DayEvent(
            uid=f"{'overdue' if each.overdue else each.day}-{whose}",
            day=each.day,
            title=each.title,
            address=page,
            words="\n".join(map(_line, each.lines)),
        )
        for each in query.agenda(access, today=today, until=today + AHEAD)
        if each.overdue or not plans
    ]
    for plan, days in plans:
        for each in days:
            events.append(_day(access, plan, each, f"{page}?site={plan.site_id}", whose))
            if each.person == access.person:
                events += [_visit(request, plan, each, visit, whose) for visit in each.visits]
    return calendar_file(f"{access.organisation}: {'round' if plans else 'due'}", events, now=now)


def _day(access: Access, plan: SitePlan, day: PersonDay, page: str, whose: str) -> DayEvent:
    mine = day.person == access.person
    lines = [f"{v.start} {v.vehicle}: {', '.join(task.title for task in v.tasks)}" for v in day.visits]
    return DayEvent(
        uid=f"day-{plan.site_id}-{day.person.pk}-{day.day}-{whose}",
        day=day.day,
        title=f"{day.load}" if mine else f"{day.person}: {day.load}",
        words="\n".join([*day.notes, *lines]),
        address=page,
    )


def _visit(request: HttpRequest, plan: SitePlan, day: PersonDay, visit: DayVisit, whose: str) -> VisitEvent:
    car, bay = visit.vehicle, visit.vehicle.bay
    opens = datetime.combine(day.day, time(), ZoneInfo(plan.site.time_zone))
    start = opens.replace(hour=visit.tasks[0].row.start // 60, minute=visit.tasks[0].row.start % 60)
    place = f"{bay.building.name} {bay.label}" if bay else "In no bay"
    return VisitEvent(
        uid=f"visit-{visit.key}-{whose}",
        start=start.astimezone(UTC),
        minutes=visit.minutes,
        planned_at=plan.computed_at,
        title=f"{bay.label if bay else ''} {car}: {', '.join(task.title for task in visit.tasks)}".strip(),
        words="\n".join(f"{task.title}, {task.row.minutes} min. {task.row.reason}" for task in visit.tasks),
        place=place,
        address=request.build_absolute_uri(reverse("worksheet_car", args=[car.pk])),
    )
