"""Who may see and do what: decided here and nowhere else.

A view declares its capability with ``@needs``; it then receives ``request.access`` and fetches
every row through it, so that a row is never had without its check. What is outside a person's
reach does not exist for them (404); what is inside but not theirs to change is refused (403).
"""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from functools import wraps
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.db.models import Q, QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone

from collection.models import (
    Anchor,
    ApiToken,
    Attachment,
    Bay,
    Building,
    CarNotes,
    CarRule,
    CarSummary,
    Chain,
    Climate,
    DutyRow,
    Entry,
    ForecastRun,
    Handover,
    Invitation,
    KindRule,
    LoggerFile,
    Membership,
    Organisation,
    OwnDuty,
    Owner,
    Person,
    PrivateShowing,
    ReadyBy,
    Role,
    Sensor,
    SheetImport,
    Site,
    Vehicle,
    Webhook,
    Witness,
)

CHOSEN = "organisation"  # session key of the organisation that a member of several has chosen

SEE_CARS = "see cars"
WORK = "work the week and write the care log"
EDIT_CARS = "edit the record of cars"
MANAGE = "manage places, people, limits and the system"
SHARE = "share a car's history by link"
OWN = "see to one's own sign-in"  # everybody's
OPERATE = "run the installation"  # no role's: granted to a person, and of no use in any organisation

CAPABILITIES: dict[str, frozenset[str]] = {
    Role.MANAGER: frozenset({SEE_CARS, WORK, EDIT_CARS, MANAGE, SHARE}),
    Role.STAFF: frozenset({SEE_CARS, WORK, EDIT_CARS}),
    Role.OWNER: frozenset({SEE_CARS, SHARE}),
    Role.VIEWER: frozenset({SEE_CARS}),
}


# What a token may be given: in words, and the capability that its holder's role must have all the same.
READ_CARS, READ_LOG, WRITE_LOG = "read:cars", "read:log", "write:log"
READ_PEOPLE, READ_RULES, WEBHOOKS = "read:people", "read:rules", "manage:webhooks"
SCOPES: dict[str, tuple[str, str]] = {
    READ_CARS: (
        "Read cars, places, due dates with their reasons, the week, histories, recommissioning",
        SEE_CARS,
    ),
    READ_LOG: ("Read the care log with readings, tags, findings, files and proof", SEE_CARS),
    WRITE_LOG: ("Write the care log: entries, readings, findings, corrections", WORK),
    READ_PEOPLE: ("Read names of people and owners", SEE_CARS),
    READ_RULES: ("Read intervals and limits, prices, climates, statements, the system", MANAGE),
    WEBHOOKS: ("Make and end addresses that get a message when dates change", MANAGE),
}


@dataclass(frozen=True)
class Access:
    """One person in one organisation: what they may do and the only ways to fetch rows for them.

    ``scopes`` are those of the token that speaks for the person; None at the pages: no further limit.
    """

    person: Person
    organisation: Organisation
    role: str
    scopes: frozenset[str] | None = None

    def holds(self, scope: str) -> bool:
        """Whether the token, if there is one, was given the scope."""
        return self.scopes is None or scope in self.scopes

    def may(self, capability: str) -> bool:
        """Whether the role has the capability."""
        return capability in CAPABILITIES[self.role]

    @property
    def may_work(self) -> bool:
        """For templates: show what leads to logging care."""
        return self.may(WORK)

    @property
    def may_edit(self) -> bool:
        """For templates: show what leads to editing a car."""
        return self.may(EDIT_CARS)

    @property
    def may_manage(self) -> bool:
        """For templates: show what leads to managing places and people."""
        return self.may(MANAGE)

    @property
    def may_share(self) -> bool:
        """For templates: show what leads to sharing a car's history."""
        return self.may(SHARE)

    @property
    def has_cars(self) -> bool:
        """For templates: whether there is any car to show."""
        return self.vehicles().exists()

    @property
    def time_zone(self) -> ZoneInfo:
        """The zone in which pages speak."""
        return zone_of_organisation(self.organisation)

    def vehicles(self) -> QuerySet[Vehicle]:
        """Every car this person may see: all of the organisation, or an owner's own; none taken back."""
        cars = Vehicle.objects.filter(organisation=self.organisation, taken_back_on__isnull=True)
        return cars.filter(owner__person=self.person) if self.role == Role.OWNER else cars

    def only(self, car: Vehicle) -> QuerySet[Vehicle]:
        """That car among those this person may see."""
        return self.vehicles().filter(pk=car.pk)

    def vehicle(self, pk: int) -> Vehicle:
        """One car, or 404."""
        related = ("owner", "bay__building__site__climate", "organisation")
        return get_object_or_404(self.vehicles().select_related(*related), pk=pk)

    def private_sites(self) -> QuerySet[Site]:
        """Sites whose address, way in and alarm they may ask for: managers all, staff where granted."""
        if self.role == Role.MANAGER:
            return self.sites()
        if self.role == Role.STAFF:
            granted = Q(key_grants__membership__person=self.person)
            return self.sites().filter(granted, key_grants__membership__organisation=self.organisation)
        return Site.objects.none()

    def private_cars(self) -> QuerySet[Vehicle]:
        """Cars whose keys and alarm they may ask for: managers all, staff where the notes were written.

        Where the car stands now counts only as long as nothing is written down, so that nobody reads
        a note by moving its car.
        """
        if self.role == Role.MANAGER:
            return self.vehicles()
        sites = self.private_sites()
        nothing = Q(private__isnull=True, bay__building__site__in=sites)
        return self.vehicles().filter(Q(private__site__in=sites) | nothing)

    def private_car(self, pk: int) -> Vehicle:
        """One car with something private that they may ask for: 404 where it is out of reach, else 403."""
        car = self.vehicle(pk)
        here = car.bay and self.private_sites().filter(pk=car.bay.building.site_id).exists()
        if not here and not self.private_cars().filter(pk=pk).exists():
            raise PermissionDenied("Only managers see its keys and alarm, and staff with a grant.")
        return car

    def car_notes(self) -> QuerySet[CarNotes]:
        """The private notes of those cars, sealed."""
        return CarNotes.objects.filter(vehicle__in=self.private_cars())

    def private_showings(self) -> QuerySet[PrivateShowing]:
        """Who saw, wrote or released private notes here."""
        self._require(MANAGE)
        return PrivateShowing.objects.filter(organisation=self.organisation)

    def invitations(self) -> QuerySet[Invitation]:
        """Who has been asked to join."""
        self._require(MANAGE)
        return Invitation.objects.filter(organisation=self.organisation)

    def entries(self) -> QuerySet[Entry]:
        """The care log of every car this person may see."""
        return Entry.objects.filter(vehicle__in=self.vehicles())

    def attachments(self) -> QuerySet[Attachment]:
        """What came with those entries."""
        return Attachment.objects.filter(entry__in=self.entries())

    def duties(self) -> QuerySet[DutyRow]:
        """The computed duties of every car in storage this person may see."""
        return DutyRow.objects.filter(vehicle__in=self.vehicles().filter(left_on__isnull=True))

    def car_summaries(self) -> QuerySet[CarSummary]:
        """The same summed up, a row a car."""
        rows = CarSummary.objects.filter(
            organisation=self.organisation,
            vehicle__organisation=self.organisation,
            vehicle__left_on__isnull=True,
        )
        return rows.filter(vehicle__owner__person=self.person) if self.role == Role.OWNER else rows

    def sites(self) -> QuerySet[Site]:
        """The organisation's sites; an owner's only where a car of theirs stands."""
        sites = Site.objects.filter(organisation=self.organisation)
        if self.role == Role.OWNER:
            sites = sites.filter(buildings__bays__vehicles__in=self.vehicles()).distinct()
        return sites

    def buildings(self) -> QuerySet[Building]:
        """Buildings and yards at those sites."""
        return Building.objects.filter(site__in=self.sites())

    def bays(self) -> QuerySet[Bay]:
        """Bays in those buildings."""
        return Bay.objects.filter(building__in=self.buildings())

    def climates(self) -> QuerySet[Climate]:
        """The generic types and its own, of which an owner sees those of sites where a car of theirs stands.

        Air measured inside a building is no climate of a site.
        """
        own = Climate.objects.filter(organisation=self.organisation)
        if self.role == Role.OWNER:
            own = own.filter(pk__in=self.sites().values("climate"))
        return (own | Climate.objects.filter(organisation__isnull=True)).filter(
            measured__building__isnull=True
        )

    def logger_files(self) -> QuerySet[LoggerFile]:
        """Files of loggers at the organisation's places and cars, for those who work there."""
        self._require(WORK)
        return LoggerFile.objects.filter(organisation=self.organisation)

    def sensors(self) -> QuerySet[Sensor]:
        """Sensors at the organisation's places and cars, for those who work there."""
        self._require(WORK)
        return Sensor.objects.filter(organisation=self.organisation)

    def owners(self) -> QuerySet[Owner]:
        """The organisation's owners; an owner sees only themselves."""
        owners = Owner.objects.filter(organisation=self.organisation)
        return owners.filter(person=self.person) if self.role == Role.OWNER else owners

    def memberships(self) -> QuerySet[Membership]:
        """The organisation's people, for those who manage them."""
        self._require(MANAGE)
        return Membership.objects.filter(organisation=self.organisation)

    def ready_days(self) -> QuerySet[ReadyBy]:
        """The days on which the cars that this person may see are wanted ready."""
        return ReadyBy.objects.filter(vehicle__in=self.vehicles())

    def car_rules(self) -> QuerySet[CarRule]:
        """What is decided of duties of the cars that this person may see."""
        return CarRule.objects.filter(vehicle__in=self.vehicles())

    def kind_rules(self) -> QuerySet[KindRule]:
        """The same for kinds of car, for those who keep records."""
        self._require(EDIT_CARS)
        return KindRule.objects.filter(organisation=self.organisation)

    def kind_rule(self, pk: int) -> KindRule:
        """One of them, or 404."""
        return get_object_or_404(self.kind_rules(), pk=pk)

    def own_duty(self, pk: int, code: str) -> OwnDuty:
        """A duty that a keeper added to a car in reach, or 404."""
        duty = get_object_or_404(OwnDuty, vehicle=self.vehicle(pk), ref=code.partition("-")[2])
        if duty.code != code:
            raise Http404
        return duty

    def handovers(self) -> QuerySet[Handover]:
        """Cars that the organisation has handed over."""
        self._require(MANAGE)
        return Handover.objects.filter(organisation=self.organisation)

    def sheets(self) -> QuerySet[SheetImport]:
        """Tables brought in, or on their way; without their values."""
        self._require(WORK)
        return SheetImport.objects.filter(organisation=self.organisation).defer("data")

    def runs(self) -> QuerySet[ForecastRun]:
        """The organisation's forecast runs."""
        self._require(MANAGE)
        return ForecastRun.objects.filter(organisation=self.organisation)

    def anchors(self) -> QuerySet[Anchor]:
        """The organisation's signed statements over its chains, latest first."""
        self._require(MANAGE)
        return Anchor.objects.filter(organisation=self.organisation)

    def witnesses(self) -> QuerySet[Witness]:
        """Who is shown the organisation's signed statements; for who may not manage, their own address."""
        self._require(SEE_CARS)
        rows = Witness.objects.filter(organisation=self.organisation, ended_at__isnull=True)
        return rows if self.may_manage else rows.filter(kind=Witness.Kind.MAIL, to=self.person.email)

    def setting_chains(self) -> QuerySet[Chain]:
        """The chains of what is set for the organisation and its sites."""
        self._require(MANAGE)
        return Chain.objects.filter(organisation=self.organisation).order_by("subject")

    def webhooks(self) -> QuerySet[Webhook]:
        """Addresses that are told when the organisation's dates change."""
        self._require(MANAGE)
        return Webhook.objects.filter(organisation=self.organisation)

    def _require(self, capability: str) -> None:
        if not self.may(capability):
            raise PermissionDenied


def zone_of_organisation(organisation: Organisation) -> ZoneInfo:
    """The zone of its first site, UTC before there is one."""
    name = organisation.sites.values_list("time_zone", flat=True).first()
    return ZoneInfo(name or "UTC")


def may_in(person: Person, organisation: Organisation, capability: str) -> bool:
    """Whether somebody who is not at a page now may do something in an organisation: for jobs."""
    membership = Membership.objects.filter(person=person, organisation=organisation).first()
    return membership is not None and capability in CAPABILITIES[membership.role]


class AccessRequest(HttpRequest):
    """A request that passed ``needs``: for typing."""

    access: Access


def access_of(person: Person, chosen: int | None = None) -> Access:
    """The person's access to the organisation chosen, else to the first they belong to."""
    membership = membership_of(person, chosen)
    if membership is None:
        raise PermissionDenied("You are not a member of any organisation: ask a manager to invite you.")
    return Access(person, membership.organisation, membership.role)


def membership_of(person: Person, chosen: int | None) -> Membership | None:
    """The membership that counts: in the organisation chosen, else the first."""
    memberships = Membership.objects.filter(person=person).select_related("organisation", "person")
    membership = memberships.filter(organisation=chosen).first() if chosen else None
    return membership or memberships.order_by("pk").first()


def access_by_token(token: ApiToken, now: datetime) -> Access | None:
    """What a token may do now: its scopes within its holder's present role; None where it has ended."""
    member = token.membership
    ended = token.ended_at is not None or (token.expires_at is not None and token.expires_at <= now)
    if ended or not member.person.is_active:
        return None
    return Access(member.person, member.organisation, member.role, frozenset(token.scopes))


View = Callable[..., HttpResponse]


def needs(capability: str) -> Callable[[View], View]:
    """Let only signed-in members with the capability in; the view names it for the walking test."""

    def decorate(view: View) -> View:
        @wraps(view)
        def checked(request: Any, *args: Any, **kwargs: Any) -> HttpResponse:
            request.access = access_of(request.user, request.session.get(CHOSEN))
            if not request.access.may(capability):
                raise PermissionDenied("Your role does not allow this: ask a manager.")
            with timezone.override(request.access.time_zone):
                return view(request, *args, **kwargs)

        wrapped = login_required(checked)
        wrapped.capability = capability  # type: ignore[attr-defined]  # read by the test that walks every address
        return wrapped

    return decorate


def signed_in(view: View) -> View:
    """Let everybody with a sign-in see to it, members of an organisation or not yet."""

    @wraps(view)
    def checked(request: Any, *args: Any, **kwargs: Any) -> HttpResponse:
        with suppress(PermissionDenied):  # a member of no organisation: without its menu
            request.access = access_of(request.user, request.session.get(CHOSEN))
        access: Access | None = getattr(request, "access", None)
        with timezone.override(access.time_zone if access else timezone.get_default_timezone()):
            return view(request, *args, **kwargs)

    wrapped = login_required(checked)
    wrapped.capability = OWN  # type: ignore[attr-defined]  # as above
    return wrapped


def operates(view: View) -> View:
    """Let only those in who run the installation."""

    @wraps(view)
    def checked(request: Any, *args: Any, **kwargs: Any) -> HttpResponse:
        if not request.user.is_operator:
            raise PermissionDenied("This is for whoever runs the installation.")
        return view(request, *args, **kwargs)

    wrapped = signed_in(checked)
    wrapped.capability = OPERATE  # type: ignore[attr-defined]  # as above
    return wrapped
