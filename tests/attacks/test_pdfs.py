"""A PDF that is more than paper is refused in whatever form it hides what it carries, runs or opens."""

import io

import pytest
from pypdf import PdfWriter
from pypdf.generic import (
    ArrayObject,
    DecodedStreamObject,
    DictionaryObject,
    NameObject,
    NumberObject,
    TextStringObject,
)

from collection.care.attachments import cleaned


def facts(**named):
    """A dictionary; a text that begins with a stroke is a name."""
    return DictionaryObject({NameObject(f"/{key}"): _value(value) for key, value in named.items()})


def _value(value):
    if isinstance(value, str):
        return NameObject(value) if value.startswith("/") else TextStringObject(value)
    if isinstance(value, list):
        return ArrayObject([_value(part) for part in value])
    return NumberObject(value) if isinstance(value, int) else value


def pdf(change=None):
    writer, out = PdfWriter(), io.BytesIO()
    writer.add_blank_page(200, 200)
    if change:
        change(writer)
    writer.write(out)
    return out.getvalue()


def at_root(**named):
    return pdf(lambda writer: writer._root_object.update(facts(**named)))


def on_page(**named):
    return pdf(lambda writer: writer.pages[0].update(facts(**named)))


def annotated(**named):
    return on_page(Annots=[facts(Type="/Annot", Rect=[0, 0, 9, 9], **named)])


def stream(data=b"MZ", **named):
    made = DecodedStreamObject()
    made.set_data(data)
    made.update(facts(**named))
    return made


def hanging_on_nothing(writer):
    writer._add_object(facts(S="/Launch", F="cmd.exe"))


def kind_elsewhere(writer):
    kind = writer._add_object(NameObject("/Launch"))
    writer._root_object[NameObject("/OpenAction")] = facts(S=kind, F="cmd.exe")


def raw(objects, *, packed=()):
    """A PDF by hand: objects by number, and those that lie in an object stream (ISO 32000-1, 7.5.7)."""
    out, at = io.BytesIO(), {}
    out.write(b"%PDF-1.7\n")
    if packed:
        heads, bodies = [], b""
        for number, body in packed:
            heads.append(f"{number} {len(bodies)}")
            bodies += body + b" "
        head = " ".join(heads).encode() + b" "
        objects = objects | {
            90: b"<</Type/ObjStm/N %d/First %d/Length %d>>stream\n%s\nendstream"
            % (len(packed), len(head), len(head + bodies), head + bodies)
        }
    for number, body in objects.items():
        at[number] = out.tell()
        out.write(b"%d 0 obj\n%s\nendobj\n" % (number, body))
    at[91] = out.tell()
    rows = {number: (1, place, 0) for number, place in at.items()}
    rows |= {number: (2, 90, index) for index, (number, _) in enumerate(packed)}
    table = b"".join(
        bytes([kind]) + place.to_bytes(4, "big") + bytes([more])
        for kind, place, more in (rows.get(number, (0, 0, 0)) for number in range(92))
    )
    out.write(
        b"91 0 obj\n<</Type/XRef/Size 92/W[1 4 1]/Root 1 0 R/Length %d>>stream\n%s\nendstream\nendobj\n"
        b"startxref\n%d\n%%%%EOF" % (len(table), table, at[91])
    )
    return out.getvalue()


PAGES = {
    2: b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
    3: b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 9 9]>>",
}
PLAIN = {1: b"<</Type/Catalog/Pages 2 0 R>>"} | PAGES
OPENS = {1: b"<</Type/Catalog/Pages 2 0 R/OpenAction 8 0 R>>"} | PAGES
LAUNCH = b"<</S/Launch/F(cmd.exe)>>"
FILE = facts(F=stream())

HOSTILE = {
    "a file without a type": annotated(Subtype="/Text", FS=facts(F="x.exe", EF=FILE)),
    "a file as an annotation": annotated(Subtype="/FileAttachment", FS=facts(F="x.exe")),
    "an associated file": at_root(AF=[facts(F="x.xml", EF=FILE)]),
    "an associated file of a page": on_page(AF=[facts(F="x.xml")]),
    "a file by its name tree": pdf(lambda writer: writer.add_attachment("x.exe", b"MZ")),
    "a file in a stream by its type": pdf(lambda writer: writer._add_object(stream(Type="/EmbeddedFile"))),
    "a portfolio": at_root(Collection=facts(View="/D")),
    "a stream that lies elsewhere": pdf(lambda writer: writer._add_object(stream(F="//server/share"))),
    "a page of another file": pdf(lambda w: w._add_object(stream(Subtype="/Form", Ref=facts(F="x.pdf")))),
    "an address by its file system": at_root(X=facts(FS="/URL", F="https://a.example/")),
    "an address that it opens": at_root(OpenAction=facts(S="/URI", URI="https://a.example/")),
    "an address when a page is turned": on_page(AA=facts(O=facts(S="/URI", URI="https://a.example/"))),
    "an address to press": annotated(Subtype="/Link", A=facts(S="/URI", URI="https://a.example/")),
    "an address as the base of all": at_root(URI=facts(Base="https://a.example/")),
    "a programme": at_root(OpenAction=facts(S="/Launch", F="cmd.exe")),
    "a programme after something harmless": at_root(
        OpenAction=facts(S="/GoTo", D=[0, "/Fit"], Next=facts(S="/Launch", F="cmd.exe"))
    ),
    "another file": annotated(Subtype="/Link", A=facts(S="/GoToR", F="//server/x.pdf", D=[0, "/Fit"])),
    "a file inside another": at_root(OpenAction=facts(S="/GoToE", T=facts(R="/C"))),
    "a form that sends": annotated(Subtype="/Widget", A=facts(S="/SubmitForm", F="https://a.example/")),
    "a form that reads": at_root(OpenAction=facts(S="/ImportData", F="x.fdf")),
    "a script": at_root(OpenAction=facts(S="/JavaScript", JS="app.alert(1)")),
    "a script of a form": at_root(AcroForm=facts(Fields=[], XFA="x")),
    "a command of the menu": at_root(OpenAction=facts(S="/Named", N="/Print")),
    "a film": annotated(Subtype="/RichMedia"),
    "a body in three dimensions": annotated(Subtype="/3D"),
    "a kind that stands elsewhere": pdf(kind_elsewhere),
    "an object that hangs on nothing": pdf(hanging_on_nothing),
    "an object in a stream of objects": raw(OPENS, packed=[(8, LAUNCH)]),
    "an object in a stream that hangs on nothing": raw(PLAIN, packed=[(8, LAUNCH)]),
    "a name in figures": raw(OPENS | {8: b"<</#53/L#61unch/F(cmd.exe)>>"}),
}
HARMLESS = {
    "a page": pdf(),
    "a page by hand": raw(PLAIN),
    "a page that opens at its place": at_root(OpenAction=facts(S="/GoTo", D=[0, "/Fit"])),
    "a link inside": annotated(Subtype="/Link", Dest=[0, "/Fit"]),
    "a note": annotated(Subtype="/Text", Contents="seen", F=4),
    "a tagged heading": at_root(StructTreeRoot=facts(Type="/StructTreeRoot", K=facts(S="/H1"))),
    "a stream of objects": raw(OPENS, packed=[(8, b"<</S/GoTo/D[3 0 R/Fit]>>")]),
}


@pytest.mark.parametrize("what", HOSTILE)
def test_what_is_more_than_paper_is_refused(what):
    with pytest.raises(ValueError, match=r"invoice carries .* print it to a new PDF"):
        cleaned("invoice.pdf", HOSTILE[what])


@pytest.mark.parametrize("what", HARMLESS)
def test_paper_is_taken(what):
    assert cleaned("invoice.pdf", HARMLESS[what]).data == HARMLESS[what]
