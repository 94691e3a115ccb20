"""Histories made without a database, for tests of the verifier and of its page.

LONGSTAND_TAMPERINGS sets how many random changes each test of them makes:

    LONGSTAND_TAMPERINGS=1000 uv run pytest tests/proof tests/browser/test_verifier_page.py
"""

import base64
import copy
import hashlib
import json
import os
import random
import string
import uuid
from datetime import UTC, datetime, timedelta

from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from collection.chain.canonical import canonical, digest, read
from collection.chain.countersigning import statement_of
from collection.chain.links import NOTHING_BEFORE, instant, next_link
from collection.chain.signing import public_key, sign
from collection.chain.stamps import request_for
from collection.chain.statements import keeper, make
from collection.migrations.frozen.links import next_link as first_link
from tests.proof.authority import authority

TAMPERINGS = int(os.environ.get("LONGSTAND_TAMPERINGS", "60"))
KEY = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
OWNERS_KEY = Ed25519PrivateKey.from_private_bytes(bytes(range(2, 34)))
OTHER_KEY = Ed25519PrivateKey.from_private_bytes(bytes(range(1, 33)))
START = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
KEEPER = keeper(KEY, "Hollin Barn")
CAR = {"marque": "Wendlow", "model": "Twelve", "year": 1962, "chassis_number": "A12/4471 Ø"}


def seeded(seed):
    """Chance that falls the same way each time."""
    return random.Random(seed)  # noqa: S311 - no secret


FILES = [
    {"name": "Tyre, left.jpg", "type": "image/jpeg", "size": 345678, "digest": "5e" * 32},
    {"name": "Öl.pdf", "type": "application/pdf", "size": 0, "digest": "07" * 32},
]


def an_id(rng):
    return str(uuid.UUID(int=rng.getrandbits(128), version=4))


def an_entry(rng, number, author):
    done = START + timedelta(days=2 * number, hours=rng.random())
    readings = [
        {
            "quantity": "rested_volts",
            "value": round(rng.uniform(12, 13), 2),
            "position": "",
            "temperature_c": rng.choice([None, 7.5, 1e-7, -3]),
            "rest_hours": rng.choice([None, 12]),
        },
        {
            "quantity": "tyre_pressure",
            "value": rng.choice([2e21, 180, 179.9]),
            "position": "front_left",
            "temperature_c": None,
            "rest_hours": None,
        },
    ]
    return {
        "id": an_id(rng),
        "kind": rng.choice(["charge", "run_up", "inspected"]),
        "done_at": instant(done),
        "recorded_at": instant(done + timedelta(minutes=20)),
        "by": author,
        "details": {"completed": True, "hours": 7.5, "€ö\u2028": [1, {"z": None, "a": "x\n"}]},
        "note": rng.choice(["", "Quiet, dry. “Fine”\t\\ \u0007 😀", "Key on hook 4"]),
        "corrects": None,
        "key": an_id(rng),
        "attachments": rng.sample(FILES, rng.randint(0, 2)),
        "readings": rng.sample(readings, rng.randint(0, 2)),
    }


def a_fact(was, now, since, **more):
    return {"was": was, "now": now, "since": since, **more}


def of_the_record(number, entry, first):
    """What some of the entries say in place of their care: the record opened, edited, corrected; a move."""
    opening = {"bay": a_fact(None, 3, None), "regime": a_fact(None, "exercised", None)}
    edit = {
        "on_stands": a_fact(False, True, entry["done_at"][:10]),
        "bay": a_fact(3, 4, entry["done_at"][:10]),
    }
    correction = {"regime": a_fact("exercised", "preserved", None, corrects=first)}
    opening |= {"on_stands": a_fact(None, False, None), "stored_since": a_fact(None, "2025-10-04", None)}
    details = {
        1: opening | {"opening": True, "basis": "owner"},
        7: edit | {"opening": False, "basis": ""},
        9: {"wheels_only": False, "to_bay": 5, "to_bay_label": "Long shed A5"},
        11: correction | {"opening": False, "basis": "document"},
    }.get(number)
    if details is None:
        return entry
    if number == 9:
        return entry | {"kind": "moved", "details": details}
    return entry | {
        "kind": "record",
        "details": details,
        "note": "",
        "key": "",
        "attachments": [],
        "readings": [],
    }


def the_row(entries):
    """The record as so many of those entries leave it."""
    bay = 3 if entries < 7 else 4 if entries < 9 else 5
    return {"bay": bay, "regime": "exercised" if entries < 11 else "preserved", "on_stands": entries >= 7} | {
        "stored_since": "2025-10-04"
    }


def first_statement(statement):
    """A statement as it was signed while the keeper stood in it by name."""
    old = statement | {"form": "longstand-statement-1", "by": KEEPER["name"]}
    return old, sign(KEY, old)


def a_history(rng, entries=12, anchor_every=4, notes=None, form=4):
    """A whole history, signed, and the statement files that somebody outside may hold.

    ``notes`` by number: another note in an entry from the beginning, as a forger would have it.
    """
    chain, author, links, said = an_id(rng), an_id(rng), [], []
    anchors, kept, since, previous_statement = [], [], None, NOTHING_BEFORE
    previous = NOTHING_BEFORE
    for seq in range(1, entries + 1):
        said.append(an_entry(rng, seq, author))
        if form > 1:
            said[-1] = of_the_record(seq, said[-1], said[0]["id"])
        said[-1]["note"] = (notes or {}).get(seq, said[-1]["note"])
        links.append(LINKS[form](chain, said[-1], car=CAR, seq=seq, previous=previous))
        previous = links[-1]["digest"]
        if seq % anchor_every == 0:
            at = START + timedelta(days=2 * seq + 1)
            others = [(an_id(rng), 3, digest(rng.random())) for _ in range(rng.randint(0, 6))]
            heads = sorted([*others, (chain, seq, previous)])
            place = heads.index((chain, seq, previous))
            statement, signature, proofs = make(
                KEY,
                heads,
                by=KEEPER,
                number=len(kept) + 1,
                since=since,
                at=at,
                previous=previous_statement,
            )
            if form < 3:
                statement, signature = first_statement(statement)
            named = {"named": KEEPER} if form > 2 else {}
            anchors.append(
                named
                | {
                    "statement": statement,
                    "signature": signature,
                    "seq": seq,
                    "place": place,
                    "proof": proofs[place],
                }
            )
            kept.append(
                named
                | {
                    "form": f"longstand-statement-file-{2 if named else 1}",
                    "statement": statement,
                    "signature": signature,
                    "heads": [{"chain": c, "seq": s, "head": h} for c, s, h in heads],
                }
            )
            since, previous_statement = at, digest(statement)
    history = {
        "form": f"longstand-history-{form}",
        "made_at": instant(START + timedelta(days=300)),
        "kept_by": "Hollin Barn",
        "chain": chain,
        "car": CAR,
        "people": {author: "Ada Wren"},
        "entries": said,
        "links": links,
        "anchors": anchors,
    } | ({"record": the_row(entries)} if form > 1 else {})
    history |= {"withheld": {}} if form > 2 else {}
    history |= {"witnesses": witnesses_of(rng, history)} if form > 3 else {}
    return read(to_bytes(signed(history))), kept  # read back, so that no part is shared


def witnesses_of(rng, history):
    """A stamp over each statement within the hour; the owner's countersignature at the end of the first."""
    seen, first = [], history["anchors"][0]
    for anchor in history["anchors"]:
        imprint = digest(anchor["statement"])
        at = datetime.fromisoformat(anchor["statement"]["at"]) + timedelta(minutes=20)
        response = authority().answer(request_for(imprint), at)
        seen.append(
            {
                "form": "time-stamp",
                "statement": imprint,
                "response": response.hex(),
            }
        )
    seen.append(a_countersignature(history, first["seq"], first["statement"]["at"], OWNERS_KEY))
    return seen


def a_countersignature(history, seq, day, key, role="owner"):
    """Of somebody beside the keeper, by a key in a file."""
    named = {"salt": "0a" * 16, "name": "Ida Marl"}
    head = (history["chain"], seq, history["links"][seq - 1]["digest"])
    statement = statement_of(
        head,
        role=role,
        occasion="storage",
        named=named,
        at=datetime.fromisoformat(day),
        key=public_key(key),
    )
    return {
        "form": "countersignature",
        "statement": statement,
        "signature": sign(key, statement),
        "named": named,
        "passkey": None,
    }


def by_passkey(history, seq):
    """A surveyor's, as an authenticator signs a challenge (W3C Web Authentication, level 2, 6.3.3)."""
    key = ec.derive_private_key(1904, ec.SECP256R1())
    spki = key.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo).hex()
    signed = a_countersignature(history, seq, history["anchors"][-1]["statement"]["at"], KEY, "surveyor")
    signed["statement"]["key"] = spki
    challenge = base64.urlsafe_b64encode(hashlib.sha256(canonical(signed["statement"])).digest())
    client = {"type": "webauthn.get", "challenge": challenge.rstrip(b"=").decode(), "origin": "https://x"}
    said, authenticator = json.dumps(client).encode(), bytes(32) + b"\x05" + bytes(4)
    covered = authenticator + hashlib.sha256(said).digest()
    signed["signature"] = key.sign(covered, ec.ECDSA(hashes.SHA256())).hex()
    signed["passkey"] = {"authenticator": authenticator.hex(), "client": said.hex()}
    return signed


LINKS = {1: first_link, 2: next_link, 3: next_link, 4: next_link}


def link_in(history):
    """How a link is made in the form of a history."""
    return LINKS[int(history["form"][-1])]


def signed(history, key=KEY):
    """The history with a right signature of its own, whatever stands in it."""
    unsigned = {name: value for name, value in history.items() if name != "signature"}
    unsigned["key"] = public_key(key)
    return unsigned | {"signature": sign(key, unsigned)}


def to_bytes(value):
    return canonical(value)


# tampering: each changes something in a part of a history


def leaves(value, path=()):
    if isinstance(value, dict | list) and value:
        items = value.items() if isinstance(value, dict) else enumerate(value)
        for key, item in items:
            yield from leaves(item, (*path, key))
    else:
        yield path


def at(value, path):
    for key in path:
        value = value[key]
    return value


def another(rng, old):
    """A value of the same sort, never the same."""
    if isinstance(old, str) and old and set(old) <= set(string.hexdigits):
        place = rng.randrange(len(old))
        return old[:place] + rng.choice([d for d in "0123456789abcdef" if d != old[place]]) + old[place + 1 :]
    if isinstance(old, bool):
        return not old
    if isinstance(old, int | float):
        return old + rng.choice([1, -1]) * max(1, abs(old) / 100)
    return rng.choice([old + "x", old[1:] or "y"]) if isinstance(old, str) else "z"


def edit(rng, history, part):
    path = rng.choice(list(leaves(history[part], (part,))))
    at(history, path[:-1])[path[-1]] = another(rng, at(history, path))


def delete(rng, history, part):
    del history[part][rng.randrange(len(history[part]))]


def reorder(rng, history, part):
    items = history[part]
    one, two = rng.sample(range(len(items)), 2)
    items[one], items[two] = items[two], items[one]


def insert(rng, history, part):
    items = history[part]
    new = an_entry(rng, 5, "someone") if part == "entries" else copy.deepcopy(rng.choice(items))
    items.insert(rng.randrange(len(items) + 1), new)
