"""What a person is reminded of: own due dates day by day, and who still waits for the week's mail."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Q

from collection.due.queries.intervals import answered
from collection.life.duties import DutyLine, duties_due
from collection.models import CalendarFeed, CareKind, Entry, Membership, SitePlan, WeeklyMail
from collection.models.care import effective
from collection.permissions import Access
from collection.round.queries.my_day import PersonDay, days_of, stored_plan
from collection.round.queries.weeks import week_of

A_WEEK = timedelta(days=7)
MAIL_HOUR = time(5)  # Monday at five: there before the barn opens


@dataclass(frozen=True)
class AgendaDay:
    """What is to be done by a day; what is to be done now stands on today, ``overdue``."""

    day: date
    lines: list[DutyLine]
    overdue: bool = False

    @property
    def title(self) -> str:
        """The day in a line."""
        count = len(self.lines)
        word = "Act now" if self.overdue else "By today"
        if count == 1:
            return f"{word}: {self.lines[0].title}, {self.lines[0].vehicle}"
        names = list(dict.fromkeys(line.title for line in self.lines))
        return f"{word}: {count}, {', '.join(names)}"


def agenda(access: Access, *, today: date, until: date) -> list[AgendaDay]:
    """The days with something due on a car that this person may see; on hold and unknown are left out."""
    by = Q(late__lte=until) | Q(late__isnull=True, due__lte=until)
    wanted = by & Q(hold="", unknown=False)
    lines = duties_due(access, today=today, wanted=wanted)
    by_day: dict[date, list[DutyLine]] = defaultdict(list)
    overdue: list[DutyLine] = []
    for line in lines:
        if line.by:
            (overdue if line.state == "act_now" else by_day[line.by]).append(line)
    first = [AgendaDay(today, overdue, overdue=True)] if overdue else []
    return [*first, *(AgendaDay(day, by_day[day]) for day in sorted(by_day))]


def planned_days(access: Access, first: date, last: date) -> list[tuple[SitePlan, list[PersonDay]]]:
    """The planned days of a person at each site; of everybody for a manager who works at none of them."""
    if not access.may_work:
        return []
    plans = [plan for site in access.sites() if (plan := stored_plan(site, first))]
    mine = [(plan, days_of(plan, first, last, access.person.pk)) for plan in plans]
    if not any(days for _, days in mine) and access.may_manage:
        mine = [(plan, days_of(plan, first, last)) for plan in plans]
    return [(plan, days) for plan, days in mine if days]


def left_undone(access: Access, since: datetime) -> list[Entry]:
    """What was tried since then, not done, and is not done yet, oldest first."""
    log = list(
        effective(access.entries().filter(vehicle__left_on__isnull=True, done_at__gte=since))
        .select_related("vehicle__bay__building", "by")
        .order_by("done_at")
    )
    done = {(entry.vehicle_id, duty): entry.done_at for entry in log if (duty := answered(entry))}
    undone: dict[tuple[int, str], Entry] = {}
    for entry in log:
        if entry.kind == CareKind.NOT_DONE:
            task = entry.vehicle_id, str(entry.details.get("duty", ""))
            if task not in done or done[task] < entry.done_at:
                undone[task] = entry  # the last reason counts
    return list(undone.values())


def feed_of(membership: Membership) -> CalendarFeed | None:
    """The calendar feed of a member."""
    return CalendarFeed.objects.filter(membership=membership).first()


def feed_under(digest: str) -> CalendarFeed | None:
    """The feed with this digest, of a member who may sign in."""
    feeds = CalendarFeed.objects.filter(membership__person__is_active=True)
    return (
        feeds.select_related("membership__person", "membership__organisation").filter(digest=digest).first()
    )


def wants_mail(membership: Membership) -> bool:
    """Whether a member asked for the week by mail."""
    return WeeklyMail.objects.filter(membership=membership).exists()


def membership_of(access: Access) -> Membership:
    """The membership by which this person is here."""
    return Membership.objects.get(person=access.person, organisation=access.organisation)


def mails_due(now: datetime) -> list[int]:
    """Keys of the weekly mails whose Monday has come and that have not gone out for it."""
    wanted = WeeklyMail.objects.filter(membership__person__is_active=True)
    return [
        mail.pk for mail in wanted.select_related("membership__organisation") if monday_to_send(mail, now)
    ]


def monday_to_send(mail: WeeklyMail, now: datetime) -> date | None:
    """The week that should go out now; None when it went, or its Monday is not yet five o'clock old."""
    organisation = mail.membership.organisation
    zone = ZoneInfo(organisation.sites.values_list("time_zone", flat=True).first() or "UTC")
    monday = week_of(now.astimezone(zone).date()).monday
    if now < datetime.combine(monday, MAIL_HOUR, zone):
        monday -= A_WEEK
    went = mail.last_monday
    # one for a week that is yet to come went while the clock ran ahead
    return monday if went is None or went < monday or went > monday + A_WEEK else None
