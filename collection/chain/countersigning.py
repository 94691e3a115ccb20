"""Countersignatures: somebody beside the keeper, with a key of their own, signs where a chain ends.

The key is an ordinary Ed25519 key in a file (RFC 8410), or a passkey (W3C Web Authentication, level 2, 7.2),
which signs a challenge that is the SHA-256 of the statement. The name stands in the statement by a salted
digest, as the keeper's does, so that it may be left out.
"""

import base64
import hashlib
import json
import secrets
from datetime import datetime
from typing import Any

from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec, ed25519, padding, rsa
from cryptography.hazmat.primitives.serialization import load_der_public_key

from collection.chain.canonical import canonical
from collection.chain.links import SALT_BYTES, Facts, field_digest, instant
from collection.chain.signing import is_signed
from collection.chain.statements import BY

COUNTERSIGNED = "longstand-countersignature-1"
ROLES = {"owner": "the owner", "surveyor": "a surveyor", "receiver": "whoever received the car"}
OCCASIONS = {"intake": "at intake", "storage": "while it stood", "handover": "at hand-over"}
RAW_KEY = 64  # hexadecimal digits of an Ed25519 key by itself; a passkey's is longer
USER_PRESENT = 1  # the flag of an authenticator whose person touched it
FLAGS_AT = 32  # behind the digest of the site's name


def who_signs(name: str) -> Facts:
    """A name with a new salt."""
    return {"salt": secrets.token_hex(SALT_BYTES), "name": name}


def statement_of(
    head: tuple[str, int, str], *, role: str, occasion: str, named: Facts, at: datetime, key: str
) -> Facts:
    """What is signed: chain, number and digest of its newest link, as whom, when, with which key."""
    chain, seq, digest = head
    return {
        "form": COUNTERSIGNED,
        "chain": chain,
        "seq": seq,
        "head": digest,
        "as": role,
        "occasion": occasion,
        BY: field_digest(named["salt"], BY, named["name"]),
        "at": instant(at),
        "key": key,
    }


def is_countersigned(signed: Facts) -> bool:
    """Whether the holder of the key signed the statement, by a key file or a passkey."""
    statement, passkey = signed["statement"], signed["passkey"]
    if passkey is None:
        return len(statement["key"]) == RAW_KEY and is_signed(
            statement, key=statement["key"], signature=signed["signature"]
        )
    try:
        authenticator, client = (bytes.fromhex(passkey[name]) for name in ("authenticator", "client"))
        if not _asked_for(statement, authenticator, json.loads(client)):
            return False
        covered = authenticator + hashlib.sha256(client).digest()
        _check(bytes.fromhex(statement["key"]), bytes.fromhex(signed["signature"]), covered)
    except (ValueError, TypeError, InvalidSignature, UnsupportedAlgorithm, RecursionError):
        return False
    return True


def _asked_for(statement: Facts, authenticator: bytes, client: Any) -> bool:
    challenge = base64.urlsafe_b64encode(hashlib.sha256(canonical(statement)).digest()).rstrip(b"=").decode()
    return (
        isinstance(client, dict)
        and client.get("type") == "webauthn.get"
        and client.get("challenge") == challenge
        and len(authenticator) > FLAGS_AT
        and bool(authenticator[FLAGS_AT] & USER_PRESENT)
    )


def _check(key: bytes, signature: bytes, covered: bytes) -> None:
    public = load_der_public_key(key)
    if isinstance(public, ed25519.Ed25519PublicKey):
        public.verify(signature, covered)
    elif isinstance(public, ec.EllipticCurvePublicKey) and public.curve.name == "secp256r1":
        public.verify(signature, covered, ec.ECDSA(hashes.SHA256()))
    elif isinstance(public, rsa.RSAPublicKey):
        public.verify(signature, covered, padding.PKCS1v15(), hashes.SHA256())
    else:
        raise InvalidSignature
