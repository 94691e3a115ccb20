"""The key with which this installation signs: made at the first start, readable by its owner only."""

import os
import secrets
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured

FILE = "signing-key.pem"


def installation_key() -> Ed25519PrivateKey:
    """The private key in the data folder; made if there is none yet."""
    path = Path(settings.DATA_DIR) / FILE
    if not path.exists():
        _make(path)
    try:
        key = load_pem_private_key(path.read_bytes(), password=None)
    except ValueError as error:
        raise ImproperlyConfigured(f"{FILE} in LONGSTAND_DATA holds no key: put back its copy.") from error
    if not isinstance(key, Ed25519PrivateKey):
        raise ImproperlyConfigured(f"{FILE} in LONGSTAND_DATA is no Ed25519 key: put back its copy.")
    return key


def _make(path: Path) -> None:
    """Write the whole key aside, then give it its name: nobody ever reads half a key."""
    pem = Ed25519PrivateKey.generate().private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    aside = path.with_name(f"{FILE}.{secrets.token_hex(8)}")
    with os.fdopen(os.open(aside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        file.write(pem)
        file.flush()
        os.fsync(file.fileno())
    try:
        os.link(aside, path)
    except FileExistsError:
        pass  # another process was quicker; its key serves
    finally:
        aside.unlink()
