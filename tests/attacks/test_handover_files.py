"""Archives that would swell are refused before anything large is unpacked, in a child, in words."""

import io
import zipfile

import pytest

from collection.chain.handover import FOLDER, MOST_VALUES, PAPERS
from collection.handover.reading import unpack_apart


@pytest.fixture(autouse=True)
def own_places(settings, tmp_path):
    settings.DATA_DIR = tmp_path


def archive(members, packing=zipfile.ZIP_DEFLATED):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", packing) as made:
        for name, data in members:
            made.writestr(name, data)
    return out.getvalue()


def twofold():
    """The same packed bytes named by thirty members."""
    data = bytearray(archive([(PAPERS, bytes(10_000_000)), *((FOLDER + str(n), b"") for n in range(30))]))
    with zipfile.ZipFile(io.BytesIO(bytes(data))) as made:
        first = made.getinfo(PAPERS)
        place = made.start_dir
    for _ in range(31):
        size = int.from_bytes(data[place + 28 : place + 30], "little")
        data[place + 16 : place + 20] = first.CRC.to_bytes(4, "little")
        data[place + 20 : place + 24] = first.compress_size.to_bytes(4, "little")
        data[place + 24 : place + 28] = first.file_size.to_bytes(4, "little")
        data[place + 42 : place + 46] = first.header_offset.to_bytes(4, "little")
        place += 46 + size
    return bytes(data)


BOMBS = {
    "one large member": (lambda: archive([(PAPERS, bytes(251_000_000))]), "larger than 250 MB"),
    "long papers": (lambda: archive([(PAPERS, b" " * 61_000_000)]), "papers would be larger than 60 MB"),
    "one member under many names": (twofold, "larger than 250 MB"),
    "many members": (lambda: archive([(f"{n}", b"") for n in range(20_100)]), "more than 20,000 files"),
    "many values": (lambda: archive([(PAPERS, b"[" + b"0," * MOST_VALUES + b"0]")]), "values"),
    "deep papers": (lambda: archive([(PAPERS, b"[" * 2_000_000)]), "nested too deeply|no file with which"),
    "another packing": (
        lambda: archive([(PAPERS, bytes(1_000_000))], zipfile.ZIP_LZMA),
        "no file with which",
    ),
}


@pytest.mark.parametrize("what", BOMBS)
def test_an_archive_that_would_swell_is_refused(what):
    make, words = BOMBS[what]
    data = make()
    assert len(data) < 3_000_000
    brought = unpack_apart(data, ())
    assert brought.facts is None
    assert not brought.files
    faults = " ".join(fault.text for fault in brought.verdict.faults)
    assert any(word in faults for word in words.split("|")), faults
