"""Signatures with Ed25519 (RFC 8032): keys and signatures are written in hexadecimal digits."""

from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from collection.chain.canonical import canonical, digest


def public_key(private: Ed25519PrivateKey) -> str:
    """The public half, 64 digits."""
    return private.public_key().public_bytes_raw().hex()


def sign(private: Ed25519PrivateKey, value: Any) -> str:
    """The signature over a value's canonical form, 128 digits."""
    return private.sign(canonical(value)).hex()


def is_signed(value: Any, *, key: str, signature: str) -> bool:
    """Whether the holder of the key signed exactly this value."""
    try:
        public = Ed25519PublicKey.from_public_bytes(bytes.fromhex(key))
        public.verify(bytes.fromhex(signature), canonical(value))
    except (InvalidSignature, ValueError):
        return False
    return True


def fingerprint(key: str) -> str:
    """A key in a form that two people can compare aloud: eight groups of four digits."""
    digits = digest(key)[:32]
    return " ".join(digits[start : start + 4] for start in range(0, len(digits), 4))
