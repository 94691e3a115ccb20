"""Tampering at random, kind by kind, by whoever holds the key: found and named, or said to be unprovable.

LONGSTAND_TAMPERINGS=1000 uv run pytest tests/proof/test_tamperings.py     so many of each kind

``-o log_cli=1 --log-level INFO`` shows how each was named.
"""

import copy
import logging
from collections import Counter
from hashlib import sha256
from pathlib import Path

import pytest
from django.conf import settings

from collection.chain.check_outside import NOBODY
from collection.chain.shape import SHAPES, misfits
from collection.chain.verify import verify
from tests.proof.chain_files import (
    KEEPER,
    TAMPERINGS,
    a_history,
    another,
    at,
    delete,
    edit,
    insert,
    leaves,
    reorder,
    seeded,
    signed,
    the_row,
    to_bytes,
)

log = logging.getLogger(__name__)
EACH = max(TAMPERINGS if TAMPERINGS > 60 else TAMPERINGS // 10, 1)
UNPROVEN = {  # what no file can show, in the words of the page that says so
    "cut": "The end of a history, cut off by the keeper",
    "typed": "they are the keeper's word",
    "unsigned": "Bytes of a stamp that the authority did not sign",
}
PAGE = Path(settings.BASE_DIR) / "templates/proof/trust.html"
JUNK = [None, [], {}, -1, 1e300, "", "00", [{}], True, KEEPER]
BYTES = b"\xff\xd8 a photograph \xff\xd9"


@pytest.fixture(scope="module")
def exported():
    """A history, what somebody kept of it, and a photograph that lies at hand."""
    history, kept = a_history(seeded(18))
    return history, [to_bytes(one) for one in kept]


def change_leaf(rng, history, wanted):
    """Change one value among those whose path is wanted; its path."""
    path = rng.choice([path for path in leaves(history) if wanted(path)])
    at(history, path[:-1])[path[-1]] = another(rng, at(history, path))
    return path


def record_facts(rng, history):
    path = change_leaf(rng, history, lambda p: p[0] == "record")
    return {"record"}, path[1].replace("_", " ")


def storage_dates(rng, history):
    if rng.random() < 0.5:
        history["record"]["stored_since"] = f"20{rng.randint(10, 24)}-0{rng.randint(1, 9)}-11"
        return {"record"}, "stored since"
    path = change_leaf(rng, history, lambda p: p[0] == "entries" and "stored_since" in p and p[-1] == "now")
    return {"edited", "file"}, path[1] + 1


def places(rng, history):
    path = change_leaf(rng, history, lambda p: p[0] == "entries" and bool({"bay", "to_bay"} & set(p)))
    return {"edited", "file"}, path[1] + 1


def entries(rng, history):
    rng.choice([edit, edit, delete, reorder, insert])(rng, history, "entries")
    return {"edited", "readings", "deleted", "reordered", "inserted", "record", "file", "backdated"}, None


def readings(rng, history):
    path = change_leaf(rng, history, lambda p: p[0] == "entries" and "readings" in p and len(p) > 3)
    return {"readings", "file"}, path[1] + 1


def statements(rng, history):
    change_leaf(rng, history, lambda p: p[0] == "anchors" and p[-1] != "form")
    return {"anchor", "deleted", "file", "stamp", "backdated"}, None


def stamps(rng, history):
    change_leaf(rng, history, lambda p: p[0] == "witnesses" and p[-1] != "form")
    return {"stamp", "countersignature", "deleted", "file"}, None


KINDS = [record_facts, storage_dates, places, entries, readings, statements, stamps]


@pytest.mark.parametrize("tamper", KINDS)
def test_every_tampering_is_found_and_named_though_signed_again(exported, tamper):
    rng, missed, named = seeded(tamper.__name__), [], Counter()
    sound = verify(to_bytes(exported[0]))
    assert sound.faults == []
    for number in range(EACH):
        changed = copy.deepcopy(exported[0])
        expected, where = tamper(rng, changed)
        if changed == exported[0]:
            continue  # a chance edit that put back what was there
        verdict = verify(to_bytes(signed(changed)))
        found = [fault for fault in verdict.faults if fault.kind in expected and is_at(fault, where)]
        if found:
            named[found[0].kind] += 1
        elif tamper is stamps and verdict.sound and verdict.remarks[0] == sound.remarks[0]:
            named["unsigned"] += 1
        else:
            missed.append((number, [fault.text for fault in verdict.faults]))
    assert missed == []
    assert sum(named.values()) > EACH // 2
    log.info("%s: %s", tamper.__name__, dict(named))


def is_at(fault, where):
    """Whether a fault names the field, or the number of the entry; None where any will do."""
    return where is None or (where in fault.text if isinstance(where, str) else where == fault.seq)


def test_every_attachment_at_hand_that_was_changed_is_named(exported):
    rng, missed = seeded("attachments"), []
    history = copy.deepcopy(exported[0])
    for number in range(EACH):
        entry = rng.choice([each for each in history["entries"] if each["attachments"]])
        name = rng.choice(entry["attachments"])["name"]
        data = bytearray(BYTES)
        data[rng.randrange(len(data))] ^= 1 << rng.randrange(8)
        verdict = verify(to_bytes(history), files=[(name, bytes(data))])
        if [(f.kind, name in f.text) for f in verdict.faults] != [("attachment", True)]:
            missed.append((number, verdict.faults))
    assert missed == []


def test_an_attachment_as_it_came_is_counted(exported):
    history, _ = a_history(seeded(18))
    entry = next(each for each in history["entries"] if each["attachments"])
    entry["attachments"][0]["digest"] = sha256(BYTES).hexdigest()
    verdict = verify(to_bytes(history), files=[("other name.jpg", BYTES)])
    assert not [fault for fault in verdict.faults if fault.kind == "attachment"]
    assert any("at hand, each as it came with its entry: 1 of" in remark for remark in verdict.remarks)


def cut(history, last):
    """The history as it stood when it had so many entries, as the holder of the key would cut it."""
    short = copy.deepcopy(history)
    del short["entries"][last:], short["links"][last:]
    short["anchors"] = [anchor for anchor in short["anchors"] if anchor["seq"] <= last]
    short["record"] = the_row(last)
    return short


def test_every_tail_cut_without_the_key_is_found(exported):
    rng = seeded("cut")
    for _ in range(EACH):
        short = cut(exported[0], rng.randint(1, 11))
        short["witnesses"] = []
        assert "signature" in {fault.kind for fault in verify(to_bytes(short)).faults}


def test_every_tail_cut_with_the_key_is_found_by_whoever_saw_the_end_and_else_is_said_to_be_unprovable(
    exported,
):
    rng, history = seeded("cut with the key"), exported[0]
    for _ in range(EACH):
        last = rng.randint(1, 11)
        short = cut(history, last)
        kinds = {fault.kind for fault in verify(to_bytes(signed(short))).faults}
        assert kinds == {"deleted"}, "a stamp over a statement that is gone tells"
        short["witnesses"] = []
        assert verify(to_bytes(signed(short))).sound
        verdict = verify(to_bytes(signed(short)), witnesses=exported[1])
        assert {"witness"} <= {fault.kind for fault in verdict.faults}
        assert verify(to_bytes(signed(short)), witnesses=[to_bytes(history)]).faults
    assert UNPROVEN["cut"] in PAGE.read_text()


def test_every_history_typed_today_is_called_the_keepers_word():
    rng = seeded("typed")
    for number in range(max(EACH // 10, 2)):
        typed, _ = a_history(seeded(f"typed {number}"), entries=12, anchor_every=12)
        if rng.random() < 0.5:
            typed["witnesses"] = []
        verdict = verify(to_bytes(signed(typed)))
        assert verdict.sound
        assert any(UNPROVEN["typed"] in each and "entries 1 to 8" in each for each in verdict.remarks)
        assert (NOBODY in verdict.remarks) == (not typed["witnesses"])


def test_what_cannot_be_proved_stands_on_the_page():
    page = PAGE.read_text()
    assert UNPROVEN["unsigned"] in page
    assert "the keeper’s word" in page


def test_a_fuzzed_file_gives_a_verdict_and_never_a_crash(exported):
    """Bytes and values at random, as history, as kept file, as file at hand."""
    rng, data = seeded("fuzz"), to_bytes(exported[0])
    for number in range(EACH):
        start = rng.randrange(len(data))
        changed = data[:start] + rng.randbytes(rng.randint(0, 6)) + data[start + rng.randint(0, 6) :]
        verify(changed, witnesses=[changed, rng.randbytes(9)], keys=["\0", "ab" * 32], files=[("", changed)])
        junk = copy.deepcopy(exported[0])
        for _ in range(rng.randint(1, 3)):
            path = rng.choice(list(leaves(junk)))
            at(junk, path[:-1])[path[-1]] = rng.choice(
                [None, [], {}, -1, 1e300, "", "00", [{}], True, KEEPER]
            )
        wrong = list(misfits(junk, SHAPES[exported[0]["form"]]))
        verdict = verify(to_bytes(signed(junk)), witnesses=[to_bytes(junk)])
        assert not (wrong and verdict.sound), number
