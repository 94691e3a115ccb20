"""The key with which this installation signs: made at the first start, readable by its owner only."""

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

from collection.host import env

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
    pem = Ed25519PrivateKey.generate().private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    env.keep_secret(path, pem)


def is_here() -> bool:
    """Whether this machine has the key already."""
    return (Path(settings.DATA_DIR) / FILE).exists()
