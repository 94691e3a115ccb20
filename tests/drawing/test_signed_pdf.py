"""A paper signed as PDF: genuine by another's check, changed if changed, and still fit for the archive."""

import io
from datetime import UTC, datetime
from pathlib import Path

import pypdf
import pytest
from asn1crypto import x509 as asn1_x509
from cryptography.hazmat.primitives.asymmetric import rsa
from cryptography.hazmat.primitives.serialization import BestAvailableEncryption, Encoding, pkcs12
from django.core.exceptions import ImproperlyConfigured
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.validation import validate_pdf_signature
from pyhanko_certvalidator import ValidationContext

from collection.drawing.sign_pdf import sign_pdf
from collection.drawing.typeset import ARCHIVAL_AND_TAGGED, pdf
from collection.host.paper_key import paper_key
from tests.proof.authority import a_certificate

TEMPLATE = """#set document(title: "A paper", date: datetime(year: 2026, month: 1, day: 1))
#set text(lang: "en")
= A paper
#for (name, words) in json(bytes(sys.inputs.facts)).pictures { image(name, alt: words) }
#pdf.attach("history.json", bytes(sys.inputs.file), relationship: "source",
  mime-type: "application/json", description: "It")
"""
HIDDEN, PRINTED = 2, 4  # flags of an annotation (ISO 32000-1, table 165)


@pytest.fixture(autouse=True)
def data_folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path


@pytest.fixture
def signed(tmp_path):
    template = tmp_path / "a.typ"
    template.write_text(TEMPLATE)
    return sign_pdf(pdf(template, {"pictures": []}, standards=ARCHIVAL_AND_TAGGED, file=b"{}"), paper_key())


def checked(data, key):
    """What the library that reads signatures says of the only one."""
    (signature,) = PdfFileReader(io.BytesIO(data)).embedded_signatures
    root = asn1_x509.Certificate.load(key.certificate.public_bytes(Encoding.DER))
    moment = datetime(2026, 11, 25, tzinfo=UTC)
    return validate_pdf_signature(signature, ValidationContext(trust_roots=[root], moment=moment))


def test_another_programme_finds_it_genuine_and_whole(signed):
    status = checked(signed, paper_key())
    assert (status.intact, status.valid, status.coverage.name) == (True, True, "ENTIRE_FILE")


def test_a_changed_byte_is_found(signed):
    at = signed.index(b"history.json")
    assert not checked(signed[:at] + b"H" + signed[at + 1 :], paper_key()).intact


def test_it_stays_a_paper_for_the_archive(signed):
    """Its field is printed, not hidden, of no size (ISO 19005-3, 6.3), off the page, named (ISO 14289-1)."""
    reader = pypdf.PdfReader(io.BytesIO(signed))
    xmp = reader.trailer["/Root"]["/Metadata"].get_object().get_data().decode()
    assert "<pdfaid:part>3</pdfaid:part>" in xmp
    assert "<pdfuaid:part>1</pdfuaid:part>" in xmp
    (field,) = reader.trailer["/Root"]["/AcroForm"]["/Fields"]
    field = field.get_object()
    assert field["/V"]["/SubFilter"] == "/ETSI.CAdES.detached"
    assert field["/F"] & PRINTED
    assert not field["/F"] & HIDDEN
    left, low, right, high = map(float, field["/Rect"])
    assert (left, low) == (right, high)
    assert left < 0
    assert field["/TU"]
    assert reader.attachments["history.json"] == [b"{}"]


def test_every_machine_of_an_installation_has_the_same_key(settings, tmp_path):
    ours = paper_key().fingerprint
    assert paper_key().fingerprint == ours
    settings.DATA_DIR = tmp_path / "another"
    settings.DATA_DIR.mkdir()
    assert paper_key().fingerprint != ours


def test_a_keeper_sets_a_certificate_of_their_own(settings, tmp_path, signed):
    private = rsa.generate_private_key(65537, 2048)
    certificate = a_certificate("Hollin Barn", private)
    file = tmp_path / "papers.p12"
    sealed = pkcs12.serialize_key_and_certificates(
        b"papers", private, certificate, None, BestAvailableEncryption(b"secret")
    )
    file.write_bytes(sealed)
    settings.PAPER_KEY, settings.PAPER_KEY_PASSWORD = str(file), "secret"
    key = paper_key()
    assert key.certificate == certificate
    (tmp_path / "b.typ").write_text(TEMPLATE)
    paper = pdf(Path(tmp_path / "b.typ"), {"pictures": []}, standards=ARCHIVAL_AND_TAGGED, file=b"{}")
    assert checked(sign_pdf(paper, key), key).intact
    settings.PAPER_KEY_PASSWORD = "wrong"
    with pytest.raises(ImproperlyConfigured, match="LONGSTAND_PAPER_KEY cannot be opened"):
        paper_key()
