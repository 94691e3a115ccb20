"""The archive that came with a car is unpacked, verified and looked through in a child of its own."""

from collections.abc import Sequence

from collection.care.attachments import check_stored
from collection.chain.canonical import canonical, read
from collection.chain.handover import Brought, unpack
from collection.chain.verdict import Fault, Verdict
from collection.host.child import Facts, Tell
from collection.host.contained import Share, read_apart
from collection.host.refusal import Refused

# policy: 250 MB of photographs under a long log are unpacked, verified and looked at in about a minute
SHARE = Share("archives", at_once=1, cpu_s=240, wall_s=300.0, memory=1_500_000_000, answer=300_000_000)


def unpack_apart(data: bytes, keys: Sequence[str]) -> Brought:
    """As ``unpack``, and each photograph and document is one that we would have stored.

    Refused where a file is none, where the archive would take too much, or others are being read.
    """
    facts, rest = read_apart(unpack_here, data, {"keys": list(keys)}, share=SHARE)
    verdict = Verdict([Fault(*fault) for fault in facts["faults"]], facts["remarks"])
    if verdict.faults:
        return Brought(verdict)
    papers, start, files = rest[: facts["papers"]], facts["papers"], {}
    for digest, size in facts["files"]:
        files[digest] = rest[start : start + size]
        start += size
    return Brought(verdict, read(papers), files)


def unpack_here(data: bytes, facts: Facts, _tell: Tell) -> tuple[Facts, bytes]:
    """In the child: what was found; the papers and the files go back one behind the other."""
    brought = unpack(data, facts["keys"])
    verdict = brought.verdict
    answer: Facts = {
        "faults": [[fault.kind, fault.seq, fault.text] for fault in verdict.faults],
        "remarks": verdict.remarks,
    }
    if brought.facts is None:
        return answer, b""
    _check_files(brought)
    papers = canonical(brought.facts)
    answer |= {"papers": len(papers), "files": [[name, len(file)] for name, file in brought.files.items()]}
    return answer, b"".join([papers, *brought.files.values()])


def _check_files(brought: Brought) -> None:
    entries = brought.facts["history"]["entries"] if brought.facts else []
    named = {(file["digest"], file["type"]) for entry in entries for file in entry["attachments"]}
    for digest, type_ in sorted(named):
        try:
            if digest in brought.files:
                check_stored(type_, brought.files[digest])
        except Refused as fault:
            raise Refused(f"A photograph or document cannot be taken in: {fault}") from fault
