"""Time stamps of an authority outside (RFC 3161): asked for, and read as the verifier's page reads them.

What binds a stamp: the authority's signature over the attributes, which name the digest of the stamped text's
digest and time, and the certificate that signs. Which authority it is, the reader compares by the fingerprint
(SHA-256) of its certificate, or of one above it in the stamp.
"""

import hashlib
import secrets
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from asn1crypto import tsp
from cryptography import x509
from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec, padding, rsa
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

HASHES: dict[str, hashes.HashAlgorithm] = {
    "sha256": hashes.SHA256(),
    "sha384": hashes.SHA384(),
    "sha512": hashes.SHA512(),
}
GRANTED = ("granted", "granted_with_mods")
MOST_BYTES = 64_000  # policy: a stamp with its certificates has 3 to 10 kB
MOST_CERTIFICATES = 8  # policy: one that signs, those above it, and some to spare


class NotStamped(ValueError):
    """Why something is no time stamp."""


@dataclass(frozen=True)
class Stamp:
    """What a genuine stamp says: of which digest, when, and by whose certificate, its own first."""

    imprint: str
    at: datetime
    authority: str
    certificates: tuple[str, ...]


def request_for(imprint: str) -> bytes:
    """What an authority is sent to have a SHA-256 digest stamped; its certificate is asked for."""
    algorithm = {"algorithm": "sha256"}
    asked = {
        "version": "v1",
        "message_imprint": {"hash_algorithm": algorithm, "hashed_message": bytes.fromhex(imprint)},
        "nonce": secrets.randbits(63),
        "cert_req": True,
    }
    return bytes(tsp.TimeStampReq(asked).dump())


def answers(request: bytes, response: bytes) -> bool:
    """Whether a response is to this request: RFC 3161, 2.4.2, the nonce is the same."""
    asked = tsp.TimeStampReq.load(request)["nonce"].native
    info = tsp.TimeStampResp.load(response)["time_stamp_token"]["content"]["encap_content_info"]["content"]
    return bool(info.parsed["nonce"].native == asked)


def read_stamp(response: bytes) -> Stamp:
    """A response of an authority, if it is a genuine stamp over a SHA-256 digest; else ``NotStamped``."""
    if len(response) > MOST_BYTES:
        raise NotStamped("it is too large")
    try:
        return _read(response)
    except NotStamped:
        raise
    except InvalidSignature as error:
        raise NotStamped("its signature is wrong") from error
    except Exception as error:
        raise NotStamped("it cannot be read") from error


def _read(response: bytes) -> Stamp:
    answer = tsp.TimeStampResp.load(response, strict=True)
    if answer["status"]["status"].native not in GRANTED:
        raise NotStamped("the authority refused")
    signed: Any = answer["time_stamp_token"]["content"]
    content, signers = signed["encap_content_info"], signed["signer_infos"]
    if content["content_type"].native != "tst_info" or len(signers) != 1:
        raise NotStamped("it is signed another way")
    inside: bytes = content["content"].contents
    info, signer = tsp.TSTInfo.load(inside, strict=True), signers[0]
    of = info["message_imprint"]
    if of["hash_algorithm"]["algorithm"].native != "sha256" or len(of["hashed_message"].native) != 32:
        raise NotStamped("it is not over a SHA-256 digest")
    certificates = _certificates(signed)
    attributes = _attributes(signer)
    mine = _signing(attributes, certificates)
    _check_signature(signer, attributes, inside, mine)
    at: datetime = info["gen_time"].native.astimezone(UTC)
    _check_use(mine, at)
    way = _way_up(mine, certificates)
    return Stamp(
        of["hashed_message"].native.hex(), at, _name(mine), tuple(_fingerprint(each) for each in way)
    )


def _certificates(signed: Any) -> list[x509.Certificate]:
    ders = [choice.chosen.dump() for choice in signed["certificates"] if choice.name == "certificate"]
    if len(ders) > MOST_CERTIFICATES:
        raise NotStamped("it holds too many certificates")
    return [x509.load_der_x509_certificate(der) for der in ders]


def _attributes(signer: Any) -> dict[str, Any]:
    attributes: dict[str, Any] = {}
    for attribute in signer["signed_attrs"]:
        if attribute["type"].native in attributes or len(attribute["values"]) != 1:
            raise NotStamped("an attribute stands twice")
        attributes[attribute["type"].native] = attribute["values"][0]
    return attributes


def _signing(attributes: dict[str, Any], certificates: Sequence[x509.Certificate]) -> x509.Certificate:
    """The certificate that the signature itself names: RFC 5035 by SHA-256, RFC 2634 by SHA-1."""
    digest: Callable[[bytes], Any]
    if second := attributes.get("signing_certificate_v2"):
        named = second["certs"][0]
        if named["hash_algorithm"]["algorithm"].native != "sha256":
            raise NotStamped("it names its certificate in another way")
        digest = hashlib.sha256
    else:
        named, digest = attributes["signing_certificate"]["certs"][0], hashlib.sha1
    for each in certificates:
        if digest(_der(each)).digest() == named["cert_hash"].native:
            return each
    raise NotStamped("the certificate that signed is not in it")


def _check_signature(
    signer: Any, attributes: dict[str, Any], inside: bytes, certificate: x509.Certificate
) -> None:
    algorithm = HASHES[signer["digest_algorithm"]["algorithm"].native]
    made = hashes.Hash(algorithm)
    made.update(inside)
    if (
        attributes["content_type"].native != "tst_info"
        or attributes["message_digest"].native != made.finalize()
    ):
        raise NotStamped("its text was changed")
    # RFC 5652, 5.4: signed as a SET OF, not under the tag that the attributes bear in the message
    covered = b"\x31" + signer["signed_attrs"].dump()[1:]
    key, signature = certificate.public_key(), signer["signature"].native
    if isinstance(key, rsa.RSAPublicKey) and signer["signature_algorithm"].signature_algo != "rsassa_pss":
        key.verify(signature, covered, padding.PKCS1v15(), algorithm)
    elif isinstance(key, ec.EllipticCurvePublicKey):
        key.verify(signature, covered, ec.ECDSA(algorithm))
    else:
        raise NotStamped("it is signed in a way that is not read here")


def _check_use(certificate: x509.Certificate, at: datetime) -> None:
    """RFC 3161, 2.3: the certificate is for stamping time; and it was valid then."""
    uses = certificate.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    if ExtendedKeyUsageOID.TIME_STAMPING not in uses:
        raise NotStamped("its certificate is not for stamping time")
    if not certificate.not_valid_before_utc <= at <= certificate.not_valid_after_utc:
        raise NotStamped("its certificate was not valid then")


def _way_up(first: x509.Certificate, certificates: Sequence[x509.Certificate]) -> list[x509.Certificate]:
    """The certificate and those above it, each signed by the next."""
    way = [first]
    while above := next((each for each in certificates if each not in way and _issued(each, way[-1])), None):
        way.append(above)
    return way


def _issued(above: x509.Certificate, certificate: x509.Certificate) -> bool:
    try:
        certificate.verify_directly_issued_by(above)
    except (ValueError, TypeError, InvalidSignature, UnsupportedAlgorithm):
        return False
    return True


def _der(certificate: x509.Certificate) -> bytes:
    return certificate.public_bytes(Encoding.DER)


def _fingerprint(certificate: x509.Certificate) -> str:
    return hashlib.sha256(_der(certificate)).hexdigest()


def _name(certificate: x509.Certificate) -> str:
    names = certificate.subject.get_attributes_for_oid(NameOID.COMMON_NAME)
    return str(names[0].value) if names else ""
