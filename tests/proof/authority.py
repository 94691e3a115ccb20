"""A time-stamp authority for tests, from the library's own: a root, and a certificate that stamps time."""

from datetime import UTC, datetime, timedelta
from functools import cache

from asn1crypto import keys, tsp
from asn1crypto import x509 as asn1_x509
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import rsa
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID
from pyhanko.sign.timestamps import DummyTimeStamper
from pyhanko_certvalidator.registry import SimpleCertificateStore

BORN = datetime(2020, 1, 1, tzinfo=UTC)


def a_certificate(name, key, *, issuer=None, issuer_key=None, stamps=False):
    """A certificate of a root, or one under it."""
    made = (
        x509.CertificateBuilder()
        .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)]))
        .issuer_name(issuer.subject if issuer else x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)]))
        .public_key(key.public_key())
        .serial_number(7 if stamps else 1)
        .not_valid_before(BORN)
        .not_valid_after(BORN + timedelta(days=36500))
        .add_extension(x509.BasicConstraints(ca=not stamps, path_length=None), critical=True)
    )
    if stamps:
        made = made.add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.TIME_STAMPING]), critical=True)
    return made.sign(issuer_key or key, hashes.SHA256())


class Authority:
    """Stamps what it is sent, at the time that it is told."""

    def __init__(self, name="Fernlea Time", stamps=True):
        root_key, key = (rsa.generate_private_key(65537, 2048) for _ in range(2))
        self.root = a_certificate(f"{name} Root", root_key)
        self.certificate = a_certificate(name, key, issuer=self.root, issuer_key=root_key, stamps=stamps)
        self.key = key

    def stamper(self, at):
        """The library's, for papers too."""
        above = SimpleCertificateStore()
        above.register(asn1_x509.Certificate.load(self.root.public_bytes(Encoding.DER)))
        return DummyTimeStamper(
            asn1_x509.Certificate.load(self.certificate.public_bytes(Encoding.DER)),
            keys.PrivateKeyInfo.load(
                self.key.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption())
            ),
            certs_to_embed=above,
            fixed_dt=at,
        )

    def answer(self, request, at):
        """The response to a request, as bytes."""
        return self.stamper(at).request_tsa_response(tsp.TimeStampReq.load(request)).dump()


@cache
def authority(name="Fernlea Time"):
    """One for the whole run: keys take long to make."""
    return Authority(name)


def certificate_of(certificate):
    """Its fingerprint, as an authority publishes it."""
    return certificate.fingerprint(hashes.SHA256()).hex()
