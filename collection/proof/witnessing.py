"""Showing signed statements to somebody outside: who, and the sending itself, one try at a time."""

import random
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import transaction

from collection.chain.canonical import digest
from collection.chain.countersigning import is_countersigned
from collection.chain.links import Facts
from collection.chain.stamps import NotStamped, answers, read_stamp, request_for
from collection.host.sending import Answered, NotSent, fault_of_address, post
from collection.models import Anchor, Chain, Countersignature, Organisation, Person, Witness, Witnessed
from collection.proof.queries import not_yet_shown
from collection.web.faults import check

MOST_WITNESSES = 20  # policy: an organisation
MOST_SIGNED = 50  # policy: countersignatures over one chain
MOST_ANSWER = 64_000  # bytes of an answer; a stamp with its certificates has 3 to 10 kB
AT_ONCE = 50  # statements that one job shows
LEASE = timedelta(minutes=10)  # longer than one try takes: until then no other worker tries
FIRST_PAUSE, LONGEST_PAUSE = timedelta(minutes=5), timedelta(hours=12)  # policy: doubled each time
CLOCK_APART = timedelta(hours=1)  # policy: further than this from our clock, something is wrong
HEADERS = {"Content-Type": "application/timestamp-query", "Accept": "application/timestamp-reply"}

Post = Callable[..., Answered]
Mail = Callable[[Witness, Sequence[Anchor]], None]


class NotShown(Exception):
    """Why a witness has not seen a statement; the text is shown to the keeper."""


@transaction.atomic
def add_witness(
    *, organisation: Organisation, kind: str, to: str, name: str, by: Person, now: datetime
) -> Witness:
    """A new witness, or one that was ended before, begun again."""
    old = organisation.witnesses.filter(kind=kind, to=to).first()
    row = old or Witness(organisation=organisation, kind=kind, to=to, made_at=now)
    row.name, row.made_by, row.ended_at = name, by, None
    row.tries, row.next_at, row.failing_since, row.failure = 0, now, None, ""
    check(row, {"to": fault} if (fault := _fault_of(kind, to)) else {})
    if organisation.witnesses.filter(ended_at=None).count() >= MOST_WITNESSES:
        raise ValidationError(f"There are {MOST_WITNESSES} witnesses already: end one first.")
    row.save()
    return row


def _fault_of(kind: str, to: str) -> str:
    if kind == Witness.Kind.AUTHORITY:
        return fault_of_address(to)
    try:
        validate_email(to)
    except ValidationError:
        return "This is no mail address: write it as name@example.org."
    return ""


def end_witness(*, witness: Witness, now: datetime) -> None:
    """Show it nothing more; what it saw stays."""
    Witness.objects.filter(pk=witness.pk).update(ended_at=now)


def show(witness_pk: int, *, clock: Callable[[], datetime], mail: Mail, send: Post = post) -> int:
    """Show a witness what it has yet to see; returns how many. Safe to run twice: each try is claimed."""
    now = clock()
    mine = Witness.objects.filter(pk=witness_pk, ended_at__isnull=True, next_at__lte=now)
    if not mine.update(next_at=now + LEASE):
        return 0
    witness = Witness.objects.select_related("organisation").get(pk=witness_pk)
    anchors, seen = not_yet_shown(witness)[:AT_ONCE], 0
    try:
        if witness.kind == Witness.Kind.MAIL:
            seen = _mailed(witness, anchors, mail, clock())
        for anchor in anchors if witness.kind == Witness.Kind.AUTHORITY else ():
            _stamped(witness, anchor, send, clock())
            seen += 1
    except NotShown as fault:
        _failed(witness, str(fault), clock())
    else:
        Witness.objects.filter(pk=witness.pk).update(tries=0, next_at=clock(), failing_since=None, failure="")
    return seen


def _mailed(witness: Witness, anchors: Sequence[Anchor], mail: Mail, now: datetime) -> int:
    if not anchors:
        return 0
    if not settings.SENDS_MAIL:
        raise NotShown("no mail server is set: see LONGSTAND_MAIL in Help, Running it")
    try:
        mail(witness, anchors)
    except OSError as fault:  # of the mail server: smtplib's own errors are such
        raise NotShown(f"{type(fault).__name__}: {fault}") from fault
    rows = [Witnessed(witness=witness, anchor=anchor, at=now) for anchor in anchors]
    Witnessed.objects.bulk_create(rows, ignore_conflicts=True)
    return len(anchors)


def _stamped(witness: Witness, anchor: Anchor, send: Post, now: datetime) -> None:
    """Ask for one stamp, and keep it if it is genuine, over this statement, an answer to us, and of today."""
    imprint = digest(anchor.statement)
    request = request_for(imprint)
    try:
        answer = send(witness.to, request, HEADERS, most=MOST_ANSWER)
    except NotSent as fault:
        raise NotShown(str(fault)) from fault
    if not answer.took_it:
        raise NotShown(f"answered {answer.status}")
    try:
        stamp = read_stamp(answer.body)
    except NotStamped as fault:
        raise NotShown(f"its answer is no time stamp: {fault}") from fault
    if stamp.imprint != imprint or not answers(request, answer.body):
        raise NotShown("its answer is the stamp of something else")
    if abs(stamp.at - now) > CLOCK_APART:
        raise NotShown(f"its clock says {stamp.at:%Y-%m-%d %H:%M} UTC: set ours or choose another authority")
    Witnessed.objects.get_or_create(
        witness=witness, anchor=anchor, defaults={"at": stamp.at, "response": answer.body.hex()}
    )


def _failed(witness: Witness, why: str, now: datetime) -> None:
    """Try again after a growing pause, for ever: the keeper is told since when it fails."""
    pause = min(FIRST_PAUSE * 2 ** min(witness.tries, 16), LONGEST_PAUSE) * (1 + 0.1 * random.random())  # noqa: S311 - no secret
    Witness.objects.filter(pk=witness.pk).update(
        tries=min(witness.tries + 1, 1000),
        next_at=now + pause,
        failing_since=witness.failing_since or now,
        failure=why[:200],
    )


@transaction.atomic
def countersign(*, chain: Chain, signed: Facts, now: datetime) -> Countersignature:
    """Keep what somebody signed beside us, if it is genuine, of now, and over this chain as it stands."""
    Chain.objects.select_for_update().get(pk=chain.pk)
    statement, link = signed["statement"], chain.links.order_by("-seq").first()
    if link is None or (statement["seq"], statement["head"]) != (link.seq, link.digest):
        raise ValidationError("The history has grown meanwhile: sign it as it stands now.")
    if not is_countersigned(signed):
        raise ValidationError("The signature does not fit the key: sign again with the key that you chose.")
    at = datetime.fromisoformat(statement["at"])
    if abs(now - at) > CLOCK_APART:
        raise ValidationError("This took longer than an hour: open the page again and sign.")
    if chain.countersignatures.count() >= MOST_SIGNED:
        raise ValidationError(f"{MOST_SIGNED} countersignatures stand over this history already.")
    return keep_countersignature(chain, signed)


def keep_countersignature(chain: Chain, signed: Facts) -> Countersignature:
    """Store one that was checked."""
    statement = signed["statement"]
    parts = {name: signed[name] for name in ("statement", "signature", "named", "passkey")}
    at = datetime.fromisoformat(statement["at"])
    return Countersignature.objects.create(chain=chain, seq=statement["seq"], at=at, **parts)
