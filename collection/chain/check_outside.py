"""Whom outside a history has for witnesses, since when, and whether what they saw is still here."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from collection.chain.canonical import digest
from collection.chain.check_anchors import CLOCK_GRACE, recorded_at, title_of
from collection.chain.countersigning import OCCASIONS, ROLES, is_countersigned
from collection.chain.links import Facts
from collection.chain.numbers import LATE_AFTER, entries_of
from collection.chain.signing import fingerprint
from collection.chain.stamps import NotStamped, Stamp, read_stamp
from collection.chain.statements import names
from collection.chain.verdict import Fault

STAMP, COUNTERSIGNATURE = "time-stamp", "countersignature"
CERTIFICATE = 64  # hexadecimal digits of a certificate's fingerprint; a key's has 32
NOBODY = (
    "No witness from outside: no authority stamped a statement in this file, and nobody countersigned it. "
    "On which day an entry was written is the keeper's word, but for what you hold yourself."
)


@dataclass(frozen=True)
class Witnessing:
    """Somebody outside saw the chain up to an entry, at a moment."""

    at: datetime
    seq: int
    who: str


@dataclass(frozen=True)
class Outside:
    """Faults of stamps and countersignatures, the genuine ones, and what they are worth, in words."""

    faults: list[Fault]
    seen: list[Witnessing]
    remarks: list[str]


def check_outside(history: Facts, keys: Sequence[str] = ()) -> Outside:
    """What the witnesses of a history are worth.

    ``keys`` as the reader named them: of certificates, those that a stamp must lead to.
    """
    seen: list[Witnessing] = []
    faults: list[Fault] = []
    remarks: list[str] = []
    named = {key for key in plain_keys(keys) if len(key) == CERTIFICATE}
    anchors = {digest(anchor["statement"]): anchor for anchor in history["anchors"]}
    authorities: dict[str, Stamp] = {}
    for stamp in _of(history, STAMP):
        read, wrong = _stamp(stamp, anchors.get(stamp["statement"]), named)
        faults += wrong
        if read and not wrong:
            seen.append(Witnessing(read.at, anchors[stamp["statement"]]["seq"], f"“{read.authority}”"))
            authorities.setdefault(read.certificates[-1], read)
    links = {link["seq"]: link["digest"] for link in history["links"]}
    for signed in _of(history, COUNTERSIGNATURE):
        wrong = list(_countersignature(history["chain"], signed, links))
        faults += wrong
        if not wrong:
            seen.append(_by_hand(signed))
            remarks.append(_countersigned(signed, plain_keys(keys)))
    remarks += [_authority(top, authorities[top], named) for top in sorted(authorities)]
    return Outside(faults, seen, [*_since(history, seen), *remarks])


def plain_keys(keys: Sequence[str]) -> set[str]:
    """Fingerprints without blanks and colons."""
    return {plain for key in keys if (plain := "".join(key.replace(":", " ").split()).lower())}


def _of(history: Facts, form: str) -> list[Facts]:
    return [each for each in history.get("witnesses", []) if each["form"] == form]


def _stamp(stamp: Facts, anchor: Facts | None, named: set[str]) -> tuple[Stamp | None, list[Fault]]:
    if anchor is None:
        return None, [Fault("deleted", 0, "A time stamp is over a statement that is no longer in this file.")]
    seq, title = anchor["seq"], title_of(anchor)
    try:
        read = read_stamp(bytes.fromhex(stamp["response"]))
    except NotStamped:
        read = None
    if read is None or read.imprint != stamp["statement"]:
        return None, [Fault("stamp", seq, f"The time stamp over the {title} is not genuine.")]
    if read.at < datetime.fromisoformat(anchor["statement"]["at"]) - CLOCK_GRACE:
        text = f"The {title} says that it was signed after {read.at:%Y-%m-%d %H:%M} UTC, when it was stamped."
        return read, [Fault("stamp", seq, text)]
    if named and not named & set(read.certificates):
        top = read.certificates[-1]
        text = f"The {title} was stamped under the certificate {top}, which you did not name."
        return read, [Fault("key", seq, text)]
    return read, []


def _countersignature(chain: str, signed: Facts, links: Mapping[int, str]) -> Iterator[Fault]:
    statement, seq = signed["statement"], signed["statement"]["seq"]
    title = f"countersignature of {statement['at'][:10]} by {_role(statement)}"
    if not is_countersigned(signed):
        yield Fault("countersignature", seq, f"The {title} is not genuine.")
    elif signed["named"] and not names(signed["named"], statement):
        yield Fault("countersignature", seq, f"The {title} was not made by whom it names here.")
    elif statement["chain"] != chain:
        yield Fault("countersignature", seq, f"The {title} is over another chain.")
    elif seq not in links:
        yield Fault("deleted", seq, f"The {title} knew entry {seq}; it is no longer here.")
    elif links[seq] != statement["head"]:
        yield Fault("countersignature", seq, f"The chain up to entry {seq} is not the one in the {title}.")


def _role(statement: Facts) -> str:
    return ROLES.get(statement["as"], str(statement["as"]))


def _by_hand(signed: Facts) -> Witnessing:
    statement = signed["statement"]
    return Witnessing(datetime.fromisoformat(statement["at"]), statement["seq"], _role(statement))


def _countersigned(signed: Facts, named: set[str]) -> str:
    statement, key = signed["statement"], fingerprint(signed["statement"]["key"])
    who = f", {signed['named']['name']}," if signed["named"] else ""
    occasion = OCCASIONS.get(statement["occasion"], statement["occasion"])
    known = "which you named" if key.replace(" ", "") in named else "compare it with their own word"
    how = "passkey" if signed["passkey"] else "key"
    return (
        f"Countersigned up to entry {statement['seq']} by {_role(statement)}{who} {occasion}, by their own "
        f"date of {statement['at'][:10]}, with the {how} {key}: {known}."
    )


def _authority(certificate: str, stamp: Stamp, named: set[str]) -> str:
    known = "which you named" if named else "compare it with what the authority publishes"
    return f"Stamps of “{stamp.authority}” lead to the certificate {certificate}: {known}."


def _since(history: Facts, seen: Sequence[Witnessing]) -> Iterator[str]:
    """Since when what is witnessed, and what is the keeper's word."""
    if not history["links"]:
        return
    if not seen:
        yield NOBODY
        return
    first = min(seen, key=lambda each: (each.at, each.seq, each.who))
    yield f"Witnessed from outside since {first.at:%Y-%m-%d}, up to entry {first.seq} by {first.who}."
    numbers = sorted(link["seq"] for link in history["links"])
    covering = {seq: min((each.at for each in seen if each.seq >= seq), default=None) for seq in numbers}
    if bare := [seq for seq in numbers if covering[seq] is None]:
        yield f"No witness from outside has seen {entries_of(bare)} yet."
    claims = recorded_at(history)
    alone = [
        seq for seq in numbers if seq in claims and (at := covering[seq]) and at - claims[seq] > LATE_AFTER
    ]
    if alone:
        yield (
            f"Claim to be more than {LATE_AFTER.days} days older than the first witness from outside: "
            f"{entries_of(alone)}. Before that witness they are the keeper's word."
        )
