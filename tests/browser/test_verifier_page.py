"""The page that checks a history by itself, opened from a folder: no server, no network."""

import base64
import copy
from pathlib import Path

import pytest
from django.conf import settings

from collection.chain.canonical import read
from collection.chain.links import next_link
from collection.chain.signing import fingerprint, public_key
from collection.chain.verify import verify
from collection.chain.withholding import WHOLE, fields_of, withhold
from tests.browser.conftest import PHONE
from tests.proof.authority import authority, certificate_of
from tests.proof.chain_files import (
    KEY,
    OTHER_KEY,
    TAMPERINGS,
    a_history,
    an_entry,
    by_passkey,
    delete,
    edit,
    insert,
    reorder,
    seeded,
    signed,
    to_bytes,
)

PAGE = Path(settings.BASE_DIR) / "collection/static/collection/verifier/verify.html"
ASK = """async ([file, kept, keys, files]) => {
  const bytes = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
  const at_hand = files.map(([name, data]) => [name, bytes(data)]);
  const { faults, remarks } = await verify(bytes(file), kept.map(bytes), keys, at_hand);
  return [faults.map((fault) => [fault.kind, fault.seq, fault.text]), remarks];
}"""


@pytest.fixture(scope="module")
def checker(chromium):
    context = chromium.new_context(viewport=PHONE, offline=True)
    page, errors = context.new_page(), []
    page.on("pageerror", lambda error: errors.append(error))
    page.goto(PAGE.as_uri())
    yield page
    assert errors == []
    context.close()


def encoded(data):
    return base64.b64encode(data).decode()


def asked(checker, data, witnesses=(), keys=(), files=()):
    at_hand = [[name, encoded(file)] for name, file in files]
    faults, remarks = checker.evaluate(
        ASK, [encoded(data), [encoded(one) for one in witnesses], list(keys), at_hand]
    )
    return {tuple(fault) for fault in faults}, remarks


def agrees(checker, data, witnesses=(), keys=(), files=()):
    """Whether page and command find the same; for what is no history only the kinds are compared."""
    mine, theirs = (
        verify(data, witnesses=witnesses, keys=keys, files=files),
        asked(checker, data, witnesses, keys, files),
    )
    if mine.history is None:
        return {(f.kind, f.seq) for f in mine.faults} == {fault[:2] for fault in theirs[0]}
    return ({(f.kind, f.seq, f.text) for f in mine.faults}, mine.remarks) == theirs


@pytest.fixture(scope="module")
def exported():
    return a_history(seeded(1904))


def test_the_page_finds_an_untouched_history_sound(checker, exported):
    history, kept = exported
    data, witnesses = to_bytes(history), [*map(to_bytes, kept), to_bytes(history)]
    assert asked(checker, data, witnesses, [fingerprint(public_key(KEY))])[0] == set()
    assert agrees(checker, data, witnesses)


@pytest.mark.parametrize("tamper", [edit, delete, reorder, insert])
def test_page_and_command_find_the_same_in_changed_files(checker, exported, tamper):
    rng, apart = seeded(tamper.__name__), []
    for number in range(TAMPERINGS // 2):
        changed, part = copy.deepcopy(exported[0]), rng.choice(["entries", "links", "anchors"])
        tamper(rng, changed, part)
        data = to_bytes(signed(changed) if number % 2 else changed)
        if not agrees(checker, data, [to_bytes(exported[0]), *map(to_bytes, exported[1])]):
            apart.append((number, part))
    assert apart == []


def test_page_and_command_find_the_same_in_changed_witnesses(checker, exported):
    """Where the authority's signature does not reach, a changed byte proves nothing and harms nothing."""
    rng, apart = seeded(3161), []
    for number in range(TAMPERINGS):
        changed = copy.deepcopy(exported[0])
        (edit if number % 3 else rng.choice([delete, insert, reorder]))(rng, changed, "witnesses")
        if not agrees(checker, to_bytes(signed(changed))):
            apart.append(number)
    assert apart == []


def test_page_and_command_read_a_passkeys_countersignature(checker, exported):
    history = copy.deepcopy(exported[0])
    history["witnesses"].append(by_passkey(history, 8))
    assert asked(checker, to_bytes(signed(history)))[0] == set()
    assert agrees(checker, to_bytes(signed(history)))
    history["witnesses"][-1]["statement"]["head"] = "0" * 64
    assert {fault[0] for fault in asked(checker, to_bytes(signed(history)))[0]} == {"countersignature"}
    assert agrees(checker, to_bytes(signed(history)))


def test_page_and_command_ask_for_the_authority_that_the_reader_names(checker, exported):
    data = to_bytes(exported[0])
    assert agrees(checker, data, keys=[certificate_of(authority().root).upper()])
    assert asked(checker, data, keys=["0" * 64])[0]
    assert agrees(checker, data, keys=["0" * 64])


def test_page_and_command_compare_files_at_hand(checker, exported):
    files = [("Tyre, left.jpg", b"another picture"), ("holiday.jpg", b"sea")]
    assert {fault[0] for fault in asked(checker, to_bytes(exported[0]), files=files)[0]} == {"attachment"}
    assert agrees(checker, to_bytes(exported[0]), files=files)


@pytest.mark.parametrize("form", [1, 2, 3])
def test_files_of_earlier_forms_are_checked_too(checker, form):
    history, kept = a_history(seeded(1904), form=form)
    data, witnesses = to_bytes(history), [*map(to_bytes, kept), to_bytes(history)]
    assert asked(checker, data, witnesses)[0] == set()
    assert agrees(checker, data, witnesses)
    history["entries"][4]["note"] = "other"
    assert agrees(checker, to_bytes(signed(history)), witnesses)


def test_page_and_command_find_the_same_in_files_with_parts_left_out(checker, exported):
    """Fields, whole entries and the keeper's name; then each changed at random."""
    rng, apart = seeded(18), []
    witnesses = [to_bytes(one) for one in exported[1]]
    for number in range(24):
        history = copy.deepcopy(exported[0])
        plan = {
            entry["id"]: rng.choice([WHOLE, [], ["note"], fields_of(entry)]) if number % 2 else ["note"]
            for entry in rng.sample(history["entries"], 5)
        }
        left = withhold(history, plan, keeper=number % 3 == 0)
        data = to_bytes(signed(left))
        if asked(checker, data, witnesses)[0] or not agrees(checker, data, witnesses):
            apart.append((number, "left out"))
        changed = copy.deepcopy(left)
        edit(rng, changed, rng.choice(["entries", "links", "anchors"]))
        if not agrees(checker, to_bytes(signed(changed)), witnesses):
            apart.append((number, "changed"))
    assert apart == []


def test_a_history_typed_long_after_its_days_is_told_by_both(checker):
    assert agrees(checker, to_bytes(a_history(seeded(1904), anchor_every=12)[0]))


def test_what_is_set_for_a_site_is_checked_like_a_car(checker):
    entry = an_entry(seeded(2), 1, "somebody") | {
        "kind": "record",
        "details": {"climate.1": {"was": None, "now": "2.0 -1.0 5.0 86.0", "since": None}, "opening": True},
    }
    of = {"of": "site.3", "name": "Hollin"}
    link = next_link("a-chain", entry, car=of, seq=1, previous="0" * 64)
    history = read(to_bytes(exported_settings(entry, link, of)))
    assert asked(checker, to_bytes(signed(history)))[0] == set()
    assert agrees(checker, to_bytes(signed(history)))
    history["record"]["climate.1"] = "3.0 -1.0 5.0 86.0"
    assert {fault[0] for fault in asked(checker, to_bytes(signed(history)))[0]} == {"record"}
    assert agrees(checker, to_bytes(signed(history)))


def exported_settings(entry, link, of):
    return {
        "form": "longstand-settings-1",
        "made_at": entry["recorded_at"],
        "kept_by": "Hollin Barn",
        "chain": "a-chain",
        "car": of,
        "people": {},
        "entries": [entry],
        "links": [link],
        "anchors": [],
        "withheld": {},
        "record": {"climate.1": "2.0 -1.0 5.0 86.0"},
    }


def test_page_and_command_find_the_same_in_changed_bytes(checker, exported):
    data, rng, apart = to_bytes(exported[0]), seeded(6), []
    for _ in range(TAMPERINGS):
        start = rng.randrange(len(data))
        changed = data[:start] + rng.randbytes(rng.randint(0, 2)) + data[start + rng.randint(1, 2) :]
        if not agrees(checker, changed) or (changed != data and not asked(checker, changed)[0]):
            apart.append(changed[start - 20 : start + 20])
    assert apart == []


def test_page_and_command_find_the_same_in_a_forged_and_in_a_cut_history(checker, exported):
    witnesses = [to_bytes(one) for one in exported[1]]
    forged = to_bytes(a_history(seeded(1904), notes={3: "Never started"})[0])
    assert asked(checker, forged)[0] == set()
    assert {fault[0] for fault in asked(checker, forged, witnesses)[0]} == {"witness"}
    assert agrees(checker, forged, witnesses)
    short = copy.deepcopy(exported[0])
    del short["entries"][8:], short["links"][8:], short["anchors"][2:]
    assert agrees(checker, to_bytes(signed(short)), witnesses)
    assert agrees(checker, to_bytes(signed(short, OTHER_KEY)), witnesses, [fingerprint(public_key(KEY))])


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\xff",
        b"[]",
        b'{"form":"other"}',
        b"[" * 100_000,
        b"NaN",
        b'{"form":"longstand-history-1"}',
        b"1e999",
    ],
)
def test_the_page_refuses_what_is_no_history(checker, data):
    assert {fault[0] for fault in asked(checker, data)[0]} == {"file"}


def test_a_name_given_twice_or_another_layout_is_noticed(checker, exported):
    data = to_bytes(exported[0])
    for changed in (
        data.replace(b'"form":"longstand-history-4"', b'"form":"x","form":"longstand-history-3"'),
        data.replace(b'"entries":', b'"entries": '),
        b"\xef\xbb\xbf" + data,
        data + b"\n",
    ):
        assert changed != data
        assert {fault[0] for fault in asked(checker, changed)[0]} == {"file"}


def test_a_person_checks_a_file_by_hand(checker, exported, tmp_path):
    good, bad = tmp_path / "good.json", tmp_path / "bad.json"
    history = copy.deepcopy(exported[0])
    good.write_bytes(to_bytes(history))
    history["entries"].insert(2, an_entry(seeded(2), 3, "x"))
    bad.write_bytes(to_bytes(history))
    checker.set_input_files("#history", good)
    checker.fill("#keys", fingerprint(public_key(KEY)))
    checker.click("button")
    checker.wait_for_selector(".good")
    assert "Sound. Nothing was changed since it was signed." in checker.inner_text("#answer")
    assert fingerprint(public_key(KEY)) in checker.inner_text("#answer")
    checker.set_input_files("#history", bad)
    checker.click("button")
    checker.wait_for_selector(".bad")
    assert "An entry was put in that the chain does not know" in checker.inner_text("#answer")
    assert checker.evaluate("document.documentElement.scrollWidth <= innerWidth"), "wider than the telephone"
