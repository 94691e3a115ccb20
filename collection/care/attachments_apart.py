"""The files of one form cleaned together in a child of their own: see ``host.contained``."""

from collections.abc import Sequence

from collection.care.attachments import MOST_BYTES, MOST_FILES, Attached, cleaned, stem_of
from collection.host.child import Facts, Tell
from collection.host.contained import Share, TooMuch, read_apart
from collection.host.refusal import Refused

# policy: six photographs of a phone take a second or two, a PDF of 200 full pages some ten
MOST_BACK = MOST_FILES * MOST_BYTES + 1_000_000
SHARE = Share("pictures", at_once=2, cpu_s=40, wall_s=60.0, memory=800_000_000, answer=MOST_BACK)


def clean_apart(files: Sequence[tuple[str, bytes]], *, keep_place: bool) -> list[Attached]:
    """Each file (name, bytes) as it may be stored; Refused says in plain words which may not, and why."""
    if len(files) > MOST_FILES:
        raise Refused(f"{MOST_FILES} photographs and documents go with one entry: make a second one.")
    if large := next((name for name, data in files if len(data) > MOST_BYTES), None):
        raise Refused(f"{stem_of(large)} is larger than {MOST_BYTES / 1e6:.0f} MB: make it smaller first.")
    if not files:
        return []
    facts = {"keep_place": keep_place, "files": [[name, len(data)] for name, data in files]}
    at_work: list[str] = []
    try:
        returned, data = read_apart(
            clean_here, b"".join(data for _, data in files), facts, share=SHARE, tell=at_work.append
        )
    except TooMuch as fault:
        raise Refused(f"{at_work[-1] if at_work else 'The file'} {fault.why}") from fault
    return _attached(returned, data, [data for _, data in files])


def clean_here(data: bytes, facts: Facts, tell: Tell) -> tuple[Facts, bytes]:
    """In the child: the files lie one behind the other in ``data``, and so does what becomes of them.

    A document is stored as it came, so it is not sent back.
    """
    kept, out, start = [], [], 0
    for name, size in facts["files"]:
        tell(stem_of(name))
        file = cleaned(name, data[start : start + size], keep_place=facts["keep_place"])
        start += size
        kept.append([file.name, file.type, 0 if file.is_document else len(file.data)])
        out.append(b"" if file.is_document else file.data)
    return {"files": kept}, b"".join(out)


def _attached(facts: Facts, data: bytes, sent: Sequence[bytes]) -> list[Attached]:
    made, start = [], 0
    for (name, type_, size), came in zip(facts["files"], sent, strict=True):
        made.append(Attached(name, type_, data[start : start + size] if size else came))
        start += size
    return made
