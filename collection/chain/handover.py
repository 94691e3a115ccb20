"""What a car is handed over with: its exported history and its record signed as one, and its files.

A ZIP archive (PKWARE APPNOTE 6.3): ``handover.json``, and each photograph or document of the log under
its SHA-256; and, once it came back, ``receipt.json``, which the receiving side signed. The files need no
signature of their own: the entries that the history signs name their digests.
"""

import hashlib
import io
import zipfile
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from collection.chain.canonical import NotReadable, canonical, read
from collection.chain.countersigning import is_countersigned
from collection.chain.links import Facts
from collection.chain.shape import COUNTERSIGNATURE, SETTINGS, misfits
from collection.chain.signing import is_signed, public_key, sign
from collection.chain.statements import names
from collection.chain.verdict import Fault, Verdict
from collection.chain.verify import verify
from collection.chain.withholding import is_in_part

HANDOVER = "longstand-handover-1"
NAMES = {"form", "history", "record", "to", "key", "signature"}
PAPERS, FOLDER, RECEIPT = "handover.json", "attachments/", "receipt.json"
RECEIVER = "receiver"  # as whom the receiving side signs
MOST_BYTES = 250_000_000  # unpacked; policy: a long log with all its photographs
MOST_PAPERS = 60_000_000  # bytes of handover.json, unpacked; policy: 50,000 entries
MOST_VALUES = 3_000_000  # in it; policy, likewise
MOST_MEMBERS = 20_000
LONG_AGO = (1980, 1, 1, 0, 0, 0)  # the archive says nothing of when it was packed
NONE_OF_OURS = "This is no file with which a car was handed over"


@dataclass(frozen=True)
class Brought:
    """What came out of an archive: nothing but its faults, if it has any."""

    verdict: Verdict
    facts: Facts | None = None
    files: Mapping[str, bytes] = field(default_factory=dict)


class _Unfit(ValueError):
    """Why the archive is not read, in plain words."""


def pack(
    private: Ed25519PrivateKey, *, history: bytes, record: Facts, to: str, files: Mapping[str, bytes]
) -> bytes:
    """The archive's bytes; ``history`` is an export of the same installation, ``files`` stand by digest."""
    facts = {
        "form": HANDOVER,
        "history": read(history),
        "record": record,
        "to": to,
        "key": public_key(private),
    }
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        papers = canonical(facts | {"signature": sign(private, facts)})
        archive.writestr(zipfile.ZipInfo(PAPERS, LONG_AGO), papers, zipfile.ZIP_DEFLATED)
        for digest, data in files.items():
            archive.writestr(zipfile.ZipInfo(FOLDER + digest, LONG_AGO), data, zipfile.ZIP_STORED)
    return out.getvalue()


def unpack(data: bytes, keys: Sequence[str] = ()) -> Brought:
    """What the archive holds, or everything that is wrong with it.

    ``keys`` are the fingerprints of the keys that the receiver was told by another way, if any.
    """
    try:
        parts = _parts(data)
        receipt = parts.pop(RECEIPT, None)
        facts = _facts(parts.pop(PAPERS, b""))
    except _Unfit as error:
        return Brought(_wrong(str(error)))
    verdict = verify(canonical(facts["history"]), keys=keys)
    if verdict.sound and facts["history"]["form"] == SETTINGS:
        verdict = _wrong(f"{NONE_OF_OURS}: its history is not of a car.")
    if verdict.sound and is_in_part(facts["history"]):
        verdict = _wrong("Parts of the history are left out: a car is handed over with the whole.")
    if verdict.sound and not _is_one(facts):
        verdict = _wrong("The record and the history in this file were not signed together.")
    if verdict.sound:
        verdict.faults.extend(_file_faults(facts["history"], parts))
    if verdict.sound and receipt is not None and (fault := receipt_fault(receipt, facts["history"])[1]):
        verdict = _wrong(fault)
    return Brought(verdict, facts, parts) if verdict.sound else Brought(verdict)


def with_receipt(file: bytes, receipt: bytes) -> bytes:
    """The archive with the receipt of whoever received it: then both sides have signed one file."""
    out = io.BytesIO(file)
    with zipfile.ZipFile(out, "a") as archive:
        archive.writestr(zipfile.ZipInfo(RECEIPT, LONG_AGO), receipt, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def receipt_fault(data: bytes, history: Facts) -> tuple[Facts, str]:
    """The receipt that the bytes hold, and what is wrong with it; empty where nothing is."""
    try:
        signed = read(data)
    except NotReadable:
        signed = None
    if any(True for _ in misfits(signed, COUNTERSIGNATURE)):
        return {}, "This is no receipt: ask whoever received the car for the file that they saved."
    statement, last = signed["statement"], history["links"][-1]
    over = (statement["chain"], statement["seq"], statement["head"])
    if statement["as"] != RECEIVER or over != (history["chain"], last["seq"], last["digest"]):
        return signed, "This receipt is not over the history that was handed over."
    named = signed["named"] and names(signed["named"], statement)
    return signed, "" if named and is_countersigned(signed) else "This receipt is not genuine."


def _parts(data: bytes) -> dict[str, bytes]:
    """The archive's members, files by their digest; refused before anything large is unpacked."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            members = archive.infolist()
            if sum(member.file_size for member in members) > MOST_BYTES:
                raise _Unfit(f"Unpacked it would be larger than {MOST_BYTES / 1e6:.0f} MB.")
            if len(members) > MOST_MEMBERS:
                raise _Unfit(f"It holds more than {MOST_MEMBERS:,} files.")
            if any(m.filename == PAPERS and m.file_size > MOST_PAPERS for m in members):
                raise _Unfit(f"Its papers would be larger than {MOST_PAPERS / 1e6:.0f} MB.")
            return {m.filename.removeprefix(FOLDER): archive.read(m) for m in members}
    except (zipfile.BadZipFile, RuntimeError, NotImplementedError, EOFError, OSError, zlib.error) as error:
        raise _Unfit(f"{NONE_OF_OURS}, or it was cut off.") from error


def _facts(papers: bytes) -> Facts:
    if sum(papers.count(sign) for sign in (b",", b"[", b"{")) > MOST_VALUES:
        raise _Unfit(f"Its papers hold more than {MOST_VALUES:,} values.")
    try:
        facts = read(papers)
        fits = isinstance(facts, dict) and facts.keys() == NAMES and facts["form"] == HANDOVER
        if not fits or canonical(facts) != papers:
            raise _Unfit(f"{NONE_OF_OURS}, or it was saved anew.")
    except _Unfit:
        raise
    except (NotReadable, ValueError, RecursionError) as error:
        raise _Unfit(f"{NONE_OF_OURS}: {error}.") from error
    return dict(facts)


def _wrong(text: str) -> Verdict:
    return Verdict([Fault("file", 0, text)])


def _is_one(facts: Mapping[str, Any]) -> bool:
    unsigned = {name: value for name, value in facts.items() if name != "signature"}
    key, signature = facts["key"], facts["signature"]
    if not all(isinstance(text, str) for text in (key, signature, facts["to"])):
        return False
    return key == facts["history"]["key"] and is_signed(unsigned, key=key, signature=signature)


def _file_faults(history: Facts, files: Mapping[str, bytes]) -> list[Fault]:
    """Files that no entry names, or that are not what their name says."""
    named = {file["digest"] for entry in history["entries"] for file in entry["attachments"]}
    return [
        Fault("file", 0, f"A photograph or document in it is none that an entry names: {digest[:16]}.")
        for digest, data in files.items()
        if digest not in named or hashlib.sha256(data).hexdigest() != digest
    ]
