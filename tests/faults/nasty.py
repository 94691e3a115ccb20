# ruff: noqa: E501  # tables of values
"""What hostile or broken clients send: values, files, bodies."""

import io
import json
import struct
import zipfile
import zlib

from hypothesis import strategies as st
from PIL import Image
from pypdf import PdfWriter
from pypdf.generic import DictionaryObject, NameObject, TextStringObject

WORDS = (
    "",
    " ",
    "\x00",
    "a\x00b",
    "\ud800",
    "\udfff x",
    "\u202e",
    "\ufeff1",
    "null",
    "None",
    "true",
    "[]",
    "{}",
    "-1",
    "0",
    "1",
    "1.5",
    "1,5",
    "-0",
    "1e309",
    "-1e309",
    "1e-320",
    "nan",
    "inf",
    "-Infinity",
    "9" * 30,
    str(2**31),
    str(2**63),
    str(-(2**63) - 1),
    "1" * 5000,
    "0x10",
    "１２",
    "²",
    "١٢",
    "1_000",
    "+5",
    "5e2",
    "1e30",
    "0001-01-01",
    "9999-12-31",
    "2026-02-30",
    "2026-13-01",
    "10000-01-01",
    "2026-11-25",
    "1885-01-01",
    "0001-01-01T00:00",
    "9999-12-31T23:59",
    "2026-11-25T10:00",
    "2026-03-29T01:30",
    "2026-11-25T10:00:00Z",
    "24:00",
    "23:59",
    "00:00",
    "Europe/London",
    "../../etc/passwd",
    "Etc/../../x",
    "/",
    "C:\\",
    "<script>alert(1)</script>",
    "{{ 7*7 }}",
    "'; DROP TABLE collection_entry; --",
    "%s%s%n",
    "\r\nSet-Cookie: a=b",
    "x" * 65,
    "x" * 300,
    "é" * 3000,
    "𝒳" * 200,
    "a" * 70_000,
    "00000000-0000-0000-0000-000000000000",
    "on",
    "off",
    "#",
    "?",
    "..",
    "charge",
    "Invented",
    "a@b.example",
    "a@b",
    "@",
    "a" * 250 + "@b.example",
    "https://a.example/",
    "//a.example",
)
words = st.one_of(st.sampled_from(WORDS), st.text(max_size=40), st.integers().map(str), st.floats().map(str))
names = st.one_of(
    st.sampled_from(
        ("", "a" * 400, "\x00", "form-0-id", "form-TOTAL_FORMS", "__proto__", "key", "next", "é", "a[b]")
    ),
    st.text(max_size=12),
)
json_values = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), words),
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(words, inner, max_size=4)),
    max_leaves=12,
)


def _picture(form, size=(8, 6), **extra):
    out = io.BytesIO()
    Image.new("RGB", size, (120, 90, 60)).save(out, form, **extra)
    return out.getvalue()


def _pdf(**extra):
    out, writer = io.BytesIO(), PdfWriter()
    writer.add_blank_page(100, 100)
    if extra.get("script"):
        writer.root_object[NameObject("/OpenAction")] = DictionaryObject(
            {NameObject("/S"): NameObject("/JavaScript"), NameObject("/JS"): TextStringObject("app.alert(1)")}
        )
    writer.write(out)
    return out.getvalue()


def _bomb():
    """A PNG that says it is 50,000 pixels square, with little behind it."""

    def chunk(name, data):
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = chunk(b"IHDR", struct.pack(">IIBBBBB", 50_000, 50_000, 8, 2, 0, 0, 0))
    return (
        b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(b"\0" * 1_000_000)) + chunk(b"IEND", b"")
    )


def _zip(*members):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as file:
        for name, data in members:
            file.writestr(name, data)
    return out.getvalue()


WHOLE = {
    "a.jpg": _picture("JPEG"),
    "b.png": _picture("PNG"),
    "c.webp": _picture("WEBP"),
    "d.pdf": _pdf(),
    "e.pdf": _pdf(script=True),
    "f.gif": _picture("GIF"),
    "g.tiff": _picture("TIFF"),
    "h.bmp": _picture("BMP"),
    "i.png": _bomb(),
    "j.zip": _zip(("history.json", b"\0" * 3_000_000)),
    "k.zip": _zip(("../up", b"x")),
    "l.zip": _zip(*((f"{n}", b"") for n in range(500))),
    "m.json": b"[" * 50_000,
    "n.json": b'{"form": 1}',
    "o.csv": b"car,date,kind\n1,31/02/2026,charge\n\xff\xfe,,\n",
    "p.txt": b"",
    "q.txt": b"\x00" * 100,
    "r.jpg": _picture("JPEG") + _pdf(),
    "s.pdf": b"%PDF-1.7\n" + _picture("JPEG"),
    "t.pdf": _pdf() + _zip(("a", b"b")),
    "u.svg": b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>",
    "v.html": b"<script>alert(1)</script>",
    "w.pdf": b"%PDF-1.7\n1 0 obj<</Type/Catalog/Pages 1 0 R/Kids[1 0 R]/Count 9999999>>endobj\ntrailer<</Root 1 0 R>>",
    "x.jpg": _picture("JPEG", exif=b"Exif\0\0II*\0\x08\0\0\0\xff\xff" + b"\xff" * 60),
    "y.jpg": _picture("JPEG", (1, 1)),
}
FILE_NAMES = (
    "a.jpg",
    "",
    "x" * 300 + ".pdf",
    "../../up.jpg",
    "..",
    "nul\x00.jpg",
    "\u202egpj.exe",
    'quo"te.jpg',
    "new\nline.pdf",
    "C:\\temp\\a.png",
    "é.jpg",
    "CON",
    ".hidden",
    "a.jpg;b",
    "\ud800.jpg",
    "🚗.webp",
)
TYPES = (
    "image/jpeg",
    "application/pdf",
    "text/html",
    "",
    "application/octet-stream",
    "image/svg+xml",
    "x" * 300,
    "é/é",
)


@st.composite
def files(draw):
    """Name, type and bytes of a file: as it was, cut off, or with some bytes turned over."""
    name = draw(st.sampled_from(sorted(WHOLE)))
    data = WHOLE[name]
    match draw(st.integers(0, 3)):
        case 1:
            data = data[: draw(st.integers(0, len(data)))]
        case 2 if data:
            turned = bytearray(data)
            for _ in range(draw(st.integers(1, 6))):
                turned[draw(st.integers(0, min(len(data), 4000) - 1))] ^= draw(st.integers(1, 255))
            data = bytes(turned)
    return draw(st.one_of(st.just(name), st.sampled_from(FILE_NAMES))), draw(st.sampled_from(TYPES)), data


def _bytes(text):
    return text.encode("utf-8", "surrogatepass")


def urlencoded(fields):
    """Pairs as a browser would send them, whatever is in them."""
    return b"&".join(_quoted(name) + b"=" + _quoted(value) for name, value in fields)


def _quoted(text):
    return b"".join(b"%%%02X" % byte if byte < 48 or byte > 122 else bytes([byte]) for byte in _bytes(text))


def multipart(fields, sent, boundary=b"frontier"):
    """Pairs and files as a form with files is sent; no name is cleaned on the way."""
    parts = [
        b'Content-Disposition: form-data; name="%s"\r\n\r\n%s' % (_bytes(name), _bytes(value))
        for name, value in fields
    ]
    parts += [
        b'Content-Disposition: form-data; name="%s"; filename="%s"\r\nContent-Type: %s\r\n\r\n%s'
        % (_bytes(name), _bytes(file), _bytes(type_), data)
        for name, (file, type_, data) in sent
    ]
    return (
        b"".join(b"--" + boundary + b"\r\n" + part + b"\r\n" for part in parts) + b"--" + boundary + b"--\r\n"
    )


CONTENT_TYPES = (
    "application/json",
    "application/json; charset=utf-16",
    "text/plain",
    "",
    "multipart/form-data",
    "multipart/form-data; boundary=",
    "multipart/form-data; boundary=" + "b" * 300,
    "application/xml",
    "é",
    "application/x-www-form-urlencoded; charset=nonsense",
    "application/x-www-form-urlencoded; charset=utf-7",
)


@st.composite
def bodies(draw, form, valid_json=None):
    """(content type, body) of a form (name → (kind, first values, choices)), well and badly filled in."""
    way = draw(st.integers(0, 19))
    if valid_json is not None and way < 14:
        return "application/json", _json(draw(changed(valid_json)))
    if way == 19:
        return draw(st.sampled_from(CONTENT_TYPES)), draw(st.binary(max_size=200))
    if way == 18:
        return "application/json", _json(draw(json_values))
    fields, sent = draw(filled(form))
    if way == 17:
        return draw(st.sampled_from(CONTENT_TYPES)), urlencoded(fields)
    if sent or way in (15, 16):
        body = multipart(fields, sent)
        if way == 16:
            body = body[: draw(st.integers(0, len(body)))]
        return "multipart/form-data; boundary=frontier", body
    return "application/x-www-form-urlencoded", urlencoded(fields)


def _json(value):
    return _bytes(json.dumps(value, ensure_ascii=False))


@st.composite
def changed(draw, value):
    """A right JSON value with something in it exchanged for something wrong; now and then left right."""
    for _ in range(draw(st.integers(0, 2))):
        value = _exchanged(draw, value)
    return value


def _exchanged(draw, value):
    if isinstance(value, dict) and value and draw(st.integers(0, 5)):
        key = draw(st.sampled_from(sorted(value)))
        match draw(st.integers(0, 7)):
            case 0:
                return {k: v for k, v in value.items() if k != key}
            case 1:
                return value | {draw(words): draw(json_values)}
        return value | {key: _exchanged(draw, value[key])}
    if isinstance(value, list) and value and draw(st.integers(0, 5)):
        at = draw(st.integers(0, len(value) - 1))
        return [*value[:at], _exchanged(draw, value[at]), *value[at + 1 :]]
    return draw(st.one_of(words, json_values))


@st.composite
def filled(draw, form):
    """Pairs and files for a form: first values, some changed to a choice, to nonsense, left out or doubled."""
    fields, sent = [], []
    names_here = sorted(form)
    wrong = set(draw(st.lists(st.sampled_from(names_here), max_size=4))) if names_here else set()
    for name in names_here:
        kind, values, choices = form[name]
        if kind == "file":
            sent += [(name, draw(files())) for _ in range(draw(st.integers(0, 2)))]
        elif name not in wrong:
            fields += [
                (name, value) for value in values or ([draw(st.sampled_from(choices))] if choices else [""])
            ]
        else:
            fields += _wrong(draw, name, values, choices)
    if draw(st.integers(0, 9)) == 0:
        fields.append((draw(names), draw(words)))
    return fields, sent


def _wrong(draw, name, values, choices):
    match draw(st.integers(0, 5)):
        case 0:
            return []
        case 1:
            return [(name, draw(words)), (name, draw(words))]
        case 2 if choices:
            return [(name, draw(st.sampled_from(choices)))]
    return [(name, draw(words))]
