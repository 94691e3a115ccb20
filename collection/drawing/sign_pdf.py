"""Signs a PDF so that any reader shows whether it changed since: PAdES baseline B (ETSI EN 319 142-1).

The signature is added behind the document and is not seen on it: what makes it fit for the archive stays as
it was set (ISO 19005-3, 6.4, allows signatures).
"""

import io

from asn1crypto import keys
from asn1crypto import x509 as asn1_x509
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

from collection.host.paper_key import PaperKey

FIELD = "Signature"
REASON = "Nothing was changed since this paper was made"


def sign_pdf(data: bytes, key: PaperKey) -> bytes:
    """The signed document."""
    # slow to import and needed for a paper only
    from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
    from pyhanko.sign import PdfSignatureMetadata, PdfSigner, SimpleSigner
    from pyhanko.sign.fields import SigFieldSpec, SigSeedSubFilter
    from pyhanko_certvalidator.registry import SimpleCertificateStore

    class AsItWasSet(IncrementalPdfFileWriter):
        """Leaves what the document says of itself: the library would write it anew in its own words."""

        def _update_meta(self) -> None:
            pass

    certificate = asn1_x509.Certificate.load(key.certificate.public_bytes(Encoding.DER))
    private = key.private.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption())
    above = SimpleCertificateStore()  # type: ignore[no-untyped-call]
    above.register_multiple(asn1_x509.Certificate.load(each.public_bytes(Encoding.DER)) for each in key.above)
    signer = SimpleSigner(
        signing_cert=certificate,
        signing_key=keys.PrivateKeyInfo.load(private),
        cert_registry=above,
    )
    facts = PdfSignatureMetadata(
        field_name=FIELD, md_algorithm="sha256", subfilter=SigSeedSubFilter.PADES, reason=REASON
    )
    out = io.BytesIO()
    writer = AsItWasSet(io.BytesIO(data))
    # of no size, so that ISO 19005-3, 6.3.3, asks for no look of it, and off the page, so that ISO 14289-1,
    # 7.18, asks for no place of it among what is read aloud
    spec = SigFieldSpec(FIELD, on_page=0, box=(-1, -1, -1, -1), readable_field_name=REASON)
    PdfSigner(facts, signer=signer, new_field_spec=spec).sign_pdf(writer, output=out)
    return out.getvalue()
