"""Texts sealed under the installation's secret: a copy of the database alone opens none of them.

Fernet (AES-128-CBC with HMAC-SHA-256) under keys derived from the secret by HKDF (RFC 5869). Each
text is sealed together with the name of the row that it belongs to, so that it opens in no other.
"""

import base64
import json
from collections.abc import Mapping
from pathlib import Path

from cryptography.fernet import Fernet, InvalidToken, MultiFernet
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django.conf import settings

from collection.host import env

STORED = "secret-key"
NOTES = b"longstand private notes 1"  # what the derived keys are for; another purpose takes another name
OF = "of"  # beside the values: whose they are


class Unreadable(Exception):
    """Sealed under a secret that this installation does not have, or not ours."""


def secrets() -> list[str]:
    """The secret that seals, then those that still open.

    The stored one is read each time: a restore brings another into the data folder while it runs.
    """
    file = Path(settings.DATA_DIR) / STORED
    stored = [file.read_text().strip()] if file.exists() else []
    keys = [env.text("LONGSTAND_SECRET_KEY")] if env.text("LONGSTAND_SECRET_KEY") else []
    first = [*keys, *stored] or [settings.SECRET_KEY]
    return list(dict.fromkeys([*first, *settings.SECRET_KEY_FALLBACKS]))


def _cipher() -> MultiFernet:
    def key(secret: str) -> bytes:
        derived = HKDF(algorithm=SHA256(), length=32, salt=None, info=NOTES).derive(secret.encode())
        return base64.urlsafe_b64encode(derived)

    return MultiFernet([Fernet(key(secret)) for secret in secrets()])


def seal(of: str, values: Mapping[str, str]) -> str:
    """The values of a row (``of`` names it, as ``car 12``) as one sealed text."""
    return _cipher().encrypt(json.dumps({**values, OF: of}).encode()).decode()


def unseal(of: str, sealed: str) -> dict[str, str]:
    """What ``seal`` hid of that row; Unreadable where no secret of ours opens it, or it is of another row."""
    try:
        values: dict[str, str] = json.loads(_cipher().decrypt(sealed.encode()))
    except InvalidToken as error:
        raise Unreadable from error
    if values.pop(OF, None) != of:
        raise Unreadable
    return values


def sealed_anew(sealed: str) -> str:
    """The same under the secret of now; Unreadable as above."""
    try:
        return _cipher().rotate(sealed.encode()).decode()
    except InvalidToken as error:
        raise Unreadable from error
