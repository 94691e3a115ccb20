"""The key under which papers are signed as PDF: the keeper's own certificate where one is set, else ours.

Ours is derived from the installation's key, so that every machine has the same and none is stored;
the certificate vouches for itself: a reader shows that nothing changed and that it does not know the signer.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec, rsa
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from cryptography.hazmat.primitives.serialization import pkcs12
from cryptography.x509.oid import NameOID
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured

from collection.host.installation_key import installation_key

BORN = datetime(2026, 1, 1, tzinfo=UTC)
LASTS = timedelta(days=365 * 50)
# the order of the group of P-256 (NIST SP 800-186, 3.2.1.3), which every reader of PDF knows
ORDER = 0xFFFFFFFF00000000FFFFFFFFFFFFFFFFBCE6FAADA7179E84F3B9CAC2FC632551


@dataclass(frozen=True)
class PaperKey:
    """A private key with its certificate."""

    private: ec.EllipticCurvePrivateKey | rsa.RSAPrivateKey
    certificate: x509.Certificate
    above: Sequence[x509.Certificate] = ()

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the certificate, as readers of PDF show it."""
        return self.certificate.fingerprint(hashes.SHA256()).hex()


def paper_key() -> PaperKey:
    """The keeper's where LONGSTAND_PAPER_KEY names one, else ours."""
    return _of_the_keeper(Path(settings.PAPER_KEY)) if settings.PAPER_KEY else _ours()


def _of_the_keeper(path: Path) -> PaperKey:
    """Key and certificates out of a PKCS #12 file (RFC 7292)."""
    password = settings.PAPER_KEY_PASSWORD.encode() or None
    try:
        private, certificate, above = pkcs12.load_key_and_certificates(path.read_bytes(), password)
    except (OSError, ValueError) as error:
        raise ImproperlyConfigured(f"LONGSTAND_PAPER_KEY cannot be opened: {error}") from error
    if certificate is None or not isinstance(private, ec.EllipticCurvePrivateKey | rsa.RSAPrivateKey):
        raise ImproperlyConfigured("LONGSTAND_PAPER_KEY holds no RSA or elliptic key with its certificate")
    return PaperKey(private, certificate, above)


def _ours() -> PaperKey:
    """The same each time: RFC 5869 for the key, RFC 6979 for the signature of its certificate."""
    seed = HKDF(hashes.SHA256(), 48, salt=None, info=b"papers").derive(installation_key().private_bytes_raw())
    private = ec.derive_private_key(int.from_bytes(seed, "big") % (ORDER - 1) + 1, ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Longstand, papers of this installation")])
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(private.public_key())
        .serial_number(int.from_bytes(seed[:8], "big") + 1)
        .not_valid_before(BORN)
        .not_valid_after(BORN + LASTS)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_for_signing(), critical=True)
    )
    return PaperKey(private, made.sign(private, hashes.SHA256(), ecdsa_deterministic=True))


def _for_signing() -> x509.KeyUsage:
    names = ("key_encipherment", "data_encipherment", "key_agreement", "key_cert_sign", "crl_sign")
    others = dict.fromkeys((*names, "encipher_only", "decipher_only"), False)
    return x509.KeyUsage(digital_signature=True, content_commitment=True, **others)
