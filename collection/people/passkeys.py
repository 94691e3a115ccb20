"""A person's passkeys as public keys, for what else than signing in they sign."""

from allauth.mfa.models import Authenticator
from allauth.mfa.webauthn.internal.auth import WebAuthn
from cryptography.hazmat.primitives.asymmetric import ec, ed25519, rsa
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from fido2.utils import websafe_encode

from collection.models import Person

KEY_TYPE, CURVE, X, Y, N, E = 1, -1, -2, -3, -1, -2  # labels of COSE keys: RFC 9053, 7, and RFC 8230, 4
OKP, EC2, RSA = 1, 2, 3


def passkeys_of(person: Person) -> list[dict[str, str]]:
    """Name, credential id (base64url) and public key (SubjectPublicKeyInfo in hexadecimal) of each."""
    rows = Authenticator.objects.filter(user=person, type=Authenticator.Type.WEBAUTHN).order_by("pk")
    found = []
    for row in rows:
        passkey = WebAuthn(row)
        kept = passkey.authenticator_data.credential_data
        if kept is not None and (key := _public(dict(kept.public_key))):
            found.append({"name": passkey.name, "id": websafe_encode(kept.credential_id), "key": key})
    return found


def _public(cose: dict[int, object]) -> str:
    key: ec.EllipticCurvePublicKey | ed25519.Ed25519PublicKey | rsa.RSAPublicKey
    if cose.get(KEY_TYPE) == EC2 and cose.get(CURVE) == 1:
        x, y = (int.from_bytes(bytes(cose[name]), "big") for name in (X, Y))  # type: ignore[call-overload]
        key = ec.EllipticCurvePublicNumbers(x, y, ec.SECP256R1()).public_key()
    elif cose.get(KEY_TYPE) == OKP:
        key = ed25519.Ed25519PublicKey.from_public_bytes(bytes(cose[X]))  # type: ignore[call-overload]
    elif cose.get(KEY_TYPE) == RSA:
        n, e = (int.from_bytes(bytes(cose[name]), "big") for name in (N, E))  # type: ignore[call-overload]
        key = rsa.RSAPublicNumbers(e, n).public_key()
    else:
        return ""
    return key.public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo).hex()
