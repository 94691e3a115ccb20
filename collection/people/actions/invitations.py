"""Joining an organisation: a manager invites an address, whoever has it accepts.

The link is signed, works once and ends by itself. Inviting never asks whether the address has a
sign-in, so that nobody learns it from us; joining with one that has needs that sign-in.
"""

import hashlib
import secrets
from collections.abc import Iterable
from datetime import datetime, timedelta
from smtplib import SMTPException

from allauth.account.adapter import get_adapter
from django.core.exceptions import ValidationError
from django.core.signing import BadSignature, Signer
from django.db import IntegrityError, transaction

from collection.models import Invitation, KeyGrant, Membership, Organisation, Person, Role, Site
from collection.people.actions.people import new_person
from collection.web.faults import check

SECRET_BYTES = 32  # 256 bits from the system's source: not to be guessed
LASTS = timedelta(days=7)  # policy: a week of holiday does not spoil it
MOST_A_DAY = 30  # policy: of one organisation; nobody mails strangers through us without end
KEPT = timedelta(days=90)  # policy: how long one that has ended stays on record
SALT = "invitation"
TAKEN = (
    "This address cannot be used for a new sign-in. If you have a sign-in with it, sign in first and open "
    "this link again."
)
NOT_FOR_YOU = "This invitation is for another address than yours: sign out first."


@transaction.atomic
def invite(
    *,
    organisation: Organisation,
    email: str,
    role: str,
    sites: Iterable[Site],
    by: Person,
    now: datetime,
) -> tuple[Invitation, str]:
    """A new invitation and the secret of its link, which nobody can be told again.

    An earlier one to the same address ends. ValidationError names each faulty field.
    """
    email, wanted = email.strip().lower(), list(sites) if role == Role.STAFF else []
    secret = secrets.token_urlsafe(SECRET_BYTES)
    invitation = Invitation(
        organisation=organisation,
        email=email,
        role=role,
        by=by,
        made_at=now,
        expires_at=now + LASTS,
        digest=digest_of(secret),
    )
    here = Invitation.objects.filter(organisation=organisation)
    faults = {}
    if Membership.objects.filter(organisation=organisation, person__email=email).exists():
        faults["email"] = f"{email} is a member already: change them below instead."
    if here.filter(made_at__range=(now - timedelta(days=1), now + timedelta(days=1))).count() >= MOST_A_DAY:
        faults["email"] = f"{MOST_A_DAY} people were invited within a day: invite the next ones tomorrow."
    if any(site.organisation_id != organisation.pk for site in wanted):
        faults["sites"] = "That site is not in your organisation: choose from the list."
    check(invitation, faults)
    here.filter(email=email, ended_at__isnull=True).update(ended_at=now)
    here.filter(ended_at__lt=now - KEPT).delete()
    invitation.save()
    invitation.sites.set(wanted)
    return invitation, Signer(salt=SALT).sign(secret)


def digest_of(secret: str) -> str:
    """What is kept of a secret."""
    return hashlib.sha256(secret.encode()).hexdigest()


def send_invitation(*, invitation: Invitation, link: str, now: datetime) -> None:
    """Mail the link; where it cannot be sent, the invitation ends and ValidationError says so."""
    context = {"invitation": invitation, "link": link}
    try:
        get_adapter().render_mail("account/email/invitation", invitation.email, context).send()
    except (OSError, SMTPException) as error:
        end_invitation(invitation=invitation, now=now)
        raise ValidationError("The mail could not be sent, so nobody is invited: try again later.") from error


def end_invitation(*, invitation: Invitation, now: datetime) -> None:
    """Withdraw an invitation that nobody has accepted yet."""
    Invitation.objects.filter(pk=invitation.pk, ended_at__isnull=True).update(ended_at=now)


def invitation_of(signed: str, now: datetime) -> Invitation | None:
    """The open invitation of a link's secret; None for one that was never ours, is used, ended or too old."""
    try:
        secret = Signer(salt=SALT).unsign(signed)
    except BadSignature:
        return None
    invitation = Invitation.objects.filter(
        digest=digest_of(secret), ended_at__isnull=True, expires_at__gt=now
    )
    return invitation.select_related("organisation", "by").first()


@transaction.atomic
def join(*, invitation: Invitation, person: Person, now: datetime) -> Membership:
    """Somebody who is signed in accepts; the invitation is used up."""
    if person.email != invitation.email:
        raise ValidationError(NOT_FOR_YOU)
    _use_up(invitation, person, now)
    membership = Membership(person=person, organisation=invitation.organisation, role=invitation.role)
    check(membership, {})
    membership.save()
    KeyGrant.objects.bulk_create(
        KeyGrant(membership=membership, site=site, given_by=invitation.by, given_at=now)
        for site in invitation.sites.filter(organisation=invitation.organisation)
    )
    return membership


def join_as_new(*, invitation: Invitation, name: str, password: str, now: datetime) -> Membership:
    """Make a sign-in for the invited address and accept with it, both or neither."""
    try:
        with transaction.atomic():
            if Person.objects.filter(email=invitation.email).exists():
                raise ValidationError(TAKEN)
            person = new_person(email=invitation.email, name=name, password=password)
            return join(invitation=invitation, person=person, now=now)
    except IntegrityError as error:  # somebody was quicker
        raise ValidationError(TAKEN) from error


def _use_up(invitation: Invitation, person: Person, now: datetime) -> None:
    """Once only, however many open the link at once."""
    unused = Invitation.objects.filter(pk=invitation.pk, ended_at__isnull=True, expires_at__gt=now)
    if not unused.update(ended_at=now, accepted_by=person):
        raise ValidationError("This invitation was used or withdrawn a moment ago: ask for another.")
