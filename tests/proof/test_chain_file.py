"""A history changed in its file is found out, each time; so is a rewritten one, by what others kept."""

import copy
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collection.chain import tree
from collection.chain.canonical import canonical, digest, read
from collection.chain.check_outside import NOBODY
from collection.chain.shape import HISTORY
from collection.chain.signing import fingerprint, public_key
from collection.chain.verify import AUTHORS, verify
from collection.chain.withholding import WHOLE, fields_of, tells_of_place, withhold
from tests.proof.authority import authority, certificate_of
from tests.proof.chain_files import (
    CAR,
    KEY,
    OTHER_KEY,
    OWNERS_KEY,
    TAMPERINGS,
    a_history,
    an_entry,
    another,
    at,
    delete,
    edit,
    insert,
    leaves,
    link_in,
    reorder,
    seeded,
    signed,
    to_bytes,
)

OTHER_READING = {
    "quantity": "oil_pressure",
    "value": 1,
    "position": "",
    "temperature_c": None,
    "rest_hours": None,
}


@pytest.fixture(scope="module", params=[4, 3, 2, 1], ids=["fourth", "third", "second", "first"])
def exported(request):
    return a_history(seeded(1904), form=request.param)


@pytest.fixture
def history(exported):
    return copy.deepcopy(exported[0])


@pytest.fixture
def kept(exported):
    return [to_bytes(statement) for statement in exported[1]]


def kinds(verdict):
    return {fault.kind for fault in verdict.faults}


@pytest.mark.parametrize("tamper", [edit, delete, reorder, insert])
def test_random_changes_are_found_though_the_file_is_signed_again_with_the_true_key(exported, tamper):
    """A quarter of them of each sort. The signature is right again: what finds them is the chain."""
    rng, missed = seeded(tamper.__name__), []
    for _ in range(TAMPERINGS // 4):
        part = rng.choice(["entries", "entries", "links", "links", "anchors"])
        changed = copy.deepcopy(exported[0])
        tamper(rng, changed, part)
        witnesses = [to_bytes(exported[0])] if (tamper, part) == (delete, "anchors") else []
        verdict = verify(to_bytes(signed(changed)), witnesses=witnesses)
        if verdict.sound:
            missed.append(part)
        if changed == exported[0]:
            pytest.fail("the tampering changed nothing")
    assert missed == []


def test_random_changes_anywhere_break_the_signature(exported):
    rng, missed = seeded(5), []
    everything = list(leaves(exported[0]))
    for _ in range(TAMPERINGS):
        changed, path = copy.deepcopy(exported[0]), rng.choice(everything)
        at(changed, path[:-1])[path[-1]] = another(rng, at(changed, path))
        if verify(to_bytes(changed)).sound:
            missed.append(path)
    assert missed == []


def test_random_changes_of_bytes_are_found(exported):
    data, rng, missed = to_bytes(exported[0]), seeded(6), []
    for _ in range(TAMPERINGS):
        start, length = rng.randrange(len(data)), rng.randint(0, 3)
        changed = data[:start] + rng.randbytes(rng.randint(0, 3)) + data[start + length :]
        if changed != data and verify(changed).sound:
            missed.append(changed)
    assert missed == []


# what each change is called


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("bay", 3, "The record says of bay: 3. Its entries say: 5."),
        ("regime", "exercised", "The record says of regime: exercised. Its entries say: preserved."),
        ("on_stands", False, "The record says of on stands: no. Its entries say: yes."),
        (
            "battery.4.made_on",
            "2020-01-01",
            "The record says of battery 4, made on: 2020-01-01. Its entries say: empty.",
        ),
    ],
)
def test_a_record_that_its_entries_do_not_tell_is_named(name, value, said):
    history, _ = a_history(seeded(1904))
    history["record"][name] = value
    assert [(f.kind, f.text) for f in verify(to_bytes(signed(history))).faults] == [("record", said)]


def test_what_is_left_out_still_verifies_and_cannot_be_filled_in_again():
    history, _ = a_history(seeded(1904), notes={3: "Key on hook 4"})
    short = withhold(history, {entry["id"]: ["note"] for entry in history["entries"]})
    verdict = verify(to_bytes(signed(short)))
    assert verdict.faults == []
    assert "Left out of entries 1 to 12, whose digests still hold: note." in verdict.remarks
    assert "hook" not in to_bytes(short).decode()
    short["entries"][2]["note"] = "Key on hook 4"
    assert kinds(verify(to_bytes(signed(short)))) == {"edited"}, "without the salt nobody can show that it is"


def test_entries_left_out_whole_keep_their_digests_and_what_kind_they_were():
    history, _ = a_history(seeded(1904))
    kind = history["entries"][4]["kind"]
    short = withhold(history, {history["entries"][4]["id"]: WHOLE})
    verdict = verify(to_bytes(signed(short)))
    assert verdict.faults == []
    words = kind.replace("_", " ")
    said = f"Left out whole, called “{words}” by the file, its digests still hold: entry 5."
    assert said in verdict.remarks
    assert len(verdict.history["entries"]) == 11
    short["links"][4]["fields"]["note"]["digest"] = "0" * 64
    assert kinds(verify(to_bytes(signed(short)))) == {"link"}


def test_a_history_typed_long_after_its_days_is_called_the_keepers_word():
    history, _ = a_history(seeded(1904), anchor_every=12)
    verdict = verify(to_bytes(history))
    assert verdict.faults == []
    assert verdict.remarks[:2] == [
        "Witnessed from outside since 2026-03-27, up to entry 12 by the owner.",
        "Claim to be more than 7 days older than the first witness from outside: entries 1 to 8. "
        "Before that witness they are the keeper's word.",
    ]


def test_two_years_of_entries_under_one_signature_of_today_are_remarked_upon():
    history, _ = a_history(seeded(1904), anchor_every=12)
    history["witnesses"] = []
    assert verify(to_bytes(signed(history))).remarks[:2] == [
        NOBODY,
        "Claim to be more than 7 days older than the first signed statement over them: entries 1 to 8. "
        "Before that statement, the first of 2026-03-27, they are the keeper's word.",
    ]


def test_an_entry_that_is_not_called_left_out_is_missed():
    history, _ = a_history(seeded(1904))
    short = withhold(history, {history["entries"][4]["id"]: WHOLE}) | {"withheld": {}, "record": {}}
    assert "deleted" in kinds(verify(to_bytes(signed(short))))


def test_a_record_beside_entries_that_are_left_out_is_no_proof():
    history, _ = a_history(seeded(1904))
    short = withhold(history, {history["entries"][4]["id"]: WHOLE}) | {"record": {"regime": "exercised"}}
    assert kinds(verify(to_bytes(signed(short)))) == {"record"}


def test_a_bay_left_out_of_a_move_is_compared_no_more_and_the_rest_of_the_record_is():
    history, _ = a_history(seeded(1904))
    names = {
        entry["id"]: [name for name in fields_of(entry) if tells_of_place(entry, name)]
        for entry in history["entries"]
    }
    short = withhold(history, names)
    assert "bay" not in short["record"]
    assert verify(to_bytes(signed(short))).faults == []
    short["record"]["regime"] = "exercised"
    assert kinds(verify(to_bytes(signed(short)))) == {"record"}


def test_without_the_keepers_name_every_statement_still_covers_and_another_name_is_found_out():
    history, kept = a_history(seeded(1904))
    short = withhold(history, {}, keeper=True)
    verdict = verify(to_bytes(signed(short)), witnesses=[to_bytes(file) for file in kept])
    assert verdict.faults == []
    assert any("keeper's name is left out" in remark for remark in verdict.remarks)
    assert b"Hollin" not in to_bytes(short)
    short["anchors"][0]["named"] = {"salt": "0" * 32, "name": "Tarn Sheds"}
    assert "anchor" in kinds(verify(to_bytes(signed(short))))


def test_statements_that_tell_the_keeper_in_clear_go_with_the_name():
    first, _ = a_history(seeded(1904), form=2)
    history = first | {
        "form": "longstand-history-3",
        "withheld": {},
        "anchors": [anchor | {"named": None} for anchor in first["anchors"]],
    }
    assert verify(to_bytes(signed(history))).faults == []
    short = withhold(history, {}, keeper=True)
    assert short["anchors"] == []
    assert verify(to_bytes(signed(short))).faults == []


@pytest.mark.parametrize("name", ["kind", "done_at", "by", "details.opening"])
def test_what_an_entry_stands_by_cannot_be_left_out(name):
    history, _ = a_history(seeded(1904))
    history["links"][0]["fields"][name]["salt"] = None
    assert "edited" in kinds(verify(to_bytes(signed(history))))


def test_an_untouched_history_is_sound(history, kept):
    witnesses = [*kept, to_bytes(history)]
    verdict = verify(to_bytes(history), witnesses=witnesses, keys=[fingerprint(public_key(KEY)).upper()])
    assert verdict.faults == []
    if history["form"] == HISTORY:
        assert verdict.remarks == [
            "Witnessed from outside since 2026-03-11, up to entry 4 by the owner.",
            "Countersigned up to entry 4 by the owner, Ida Marl, while it stood, by their own date "
            f"of 2026-03-11, with the key {fingerprint(public_key(OWNERS_KEY))}: "
            "compare it with their own word.",
            f"Stamps of “Fernlea Time” lead to the certificate {certificate_of(authority().root)}: "
            "compare it with what the authority publishes.",
            AUTHORS,
        ]
    else:
        assert verdict.remarks == [NOBODY, AUTHORS]


@pytest.mark.parametrize(
    ("change", "kind", "seq"),
    [
        (lambda h: h["entries"][4].update(note="other"), "edited", 5),
        (lambda h: h["entries"][4].update(readings=[OTHER_READING]), "readings", 5),
        (lambda h: h["entries"].pop(4), "deleted", 5),
        (lambda h: (h["entries"].pop(4), h["links"].pop(4)), "deleted", 5),
        (lambda h: (h["entries"].pop(), h["links"].pop()), "deleted", 12),
        (lambda h: h["entries"].insert(4, an_entry(seeded(1), 4, "x")), "inserted", 0),
        (lambda h: h["entries"].append(h["entries"][4]), "inserted", 5),
        (lambda h: h["links"].append(h["links"][4]), "inserted", 5),
        (lambda h: h["entries"].insert(2, h["entries"].pop(4)), "reordered", 3),
        (lambda h: h["links"].insert(2, h["links"].pop(4)), "reordered", 3),
        (lambda h: h["links"][4].update(digest="0" * 64), "link", 5),
        (lambda h: h["links"][4]["car"].update(chassis_number="other"), "link", 5),
        (lambda h: h["anchors"][1]["statement"].update(root="0" * 64), "anchor", 8),
        (lambda h: h["anchors"][1].update(proof=[]), "anchor", 8),
        (lambda h: h["anchors"][1].update(seq=7), "anchor", 7),
    ],
)
def test_the_fault_says_which_entry_and_how(history, change, kind, seq):
    change(history)
    assert (kind, seq) in {(fault.kind, fault.seq) for fault in verify(to_bytes(signed(history))).faults}


def test_a_link_made_anew_without_those_after_it_no_longer_joins(exported):
    """No statement yet, and the changed entry fits its own new link: only the next link knows better."""
    history = copy.deepcopy(exported[0]) | ({"witnesses": []} if exported[0]["form"] == HISTORY else {})
    history["anchors"], entry, old = [], history["entries"][4], history["links"][4]
    entry["note"] = "polished afterwards"
    history["links"][4] = link_in(history)(
        history["chain"], entry, car=old["car"], seq=5, previous=old["previous"]
    )
    assert [(f.kind, f.seq) for f in verify(to_bytes(signed(history))).faults] == [("link", 6)]


@pytest.mark.parametrize("name", ["kept_by", "people", "made_at", "car", "chain"])
def test_what_stands_beside_the_chain_is_under_the_files_signature(history, name):
    history[name] = copy.deepcopy(history[name])
    if name == "people":
        history[name] = dict.fromkeys(history[name], "Somebody Else")
    elif name == "car":
        history[name]["chassis_number"] = "B99"
    else:
        history[name] = history[name][:3] + ("8" if history[name][3] != "8" else "9") + history[name][4:]
    assert "signature" in kinds(verify(to_bytes(history)))


def test_a_file_signed_by_somebody_else_is_found_by_whoever_knows_the_key(history):
    forged = to_bytes(signed(history, OTHER_KEY))
    assert verify(forged).sound
    assert kinds(verify(forged, keys=[fingerprint(public_key(KEY))])) == {"key"}


def test_a_history_rewritten_by_whoever_holds_the_key_is_found_by_a_kept_statement_or_export(exported, kept):
    original = exported[0]
    form = int(original["form"][-1])
    forged = to_bytes(a_history(seeded(1904), notes={3: "Never started"}, form=form)[0])
    assert verify(forged).sound, "the file alone cannot show it: that is what statements are kept for"
    for witness in (kept[0], kept[2], to_bytes(original)):
        verdict = verify(forged, witnesses=[witness])
        assert kinds(verdict) == {"witness"}
        assert any(
            "that you hold" in fault.text or "earlier export" in fault.text for fault in verdict.faults
        )


def test_an_end_cut_off_by_whoever_holds_the_key_is_found_by_a_kept_statement(history, kept):
    del history["entries"][8:], history["links"][8:], history["anchors"][2:]
    if "record" in history:  # cut off too, or it would tell of what is gone
        history["record"] |= {"bay": 4, "regime": "exercised"}
    if history["form"] == HISTORY:
        assert kinds(verify(to_bytes(signed(history)))) == {"deleted"}, "a stamp saw the last statement"
        del history["witnesses"][2]
    short = to_bytes(signed(history))
    assert verify(short).sound
    assert ("witness", 12) in {(f.kind, f.seq) for f in verify(short, witnesses=kept).faults}


def test_a_kept_statement_that_is_not_genuine_proves_nothing(history, exported):
    false = copy.deepcopy(exported[1][0])
    false["heads"][0]["seq"] += 1
    verdict = verify(to_bytes(history), witnesses=[to_bytes(false), b"a letter"])
    assert [fault.kind for fault in verdict.faults] == ["witness", "witness"]
    assert "not genuine" in " ".join(fault.text for fault in verdict.faults)


def test_an_entry_recorded_before_a_statement_that_lacks_it_is_called_backdated(exported):
    history = copy.deepcopy(exported[0])
    late = an_entry(seeded(3), 6, history["entries"][0]["by"])
    last = history["links"][-1]
    history["entries"].append(late)
    history["links"].append(
        link_in(history)(history["chain"], late, car=CAR, seq=13, previous=last["digest"])
    )
    assert ("backdated", 13) in {(f.kind, f.seq) for f in verify(to_bytes(signed(history))).faults}


def test_late_writing_and_uncovered_entries_are_remarked_and_another_chassis_number_is_a_fault(exported):
    history = copy.deepcopy(exported[0])
    new = an_entry(seeded(3), 300, history["entries"][0]["by"])
    new["done_at"] = "2026-02-01T09:00:00.000000Z"
    car = CAR | {"chassis_number": "B99"}
    link = link_in(history)(history["chain"], new, car=car, seq=13, previous=history["links"][-1]["digest"])
    history["entries"].append(new)
    history["links"].append(link)
    verdict = verify(to_bytes(signed(history)))
    assert {fault.kind for fault in verdict.faults} == {"identity"}
    said = " ".join(verdict.remarks)
    assert "not yet covered by one: entries 13" in said
    assert "Written down more than 7 days after it was done: entries 13" in said


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "not a history file"),
        (b"\xff", "not a history file"),
        (b"[]", "none of"),
        (b'{"form":"other"}', "none of"),
        (b'{"form":["longstand-history-1"]}', "none of"),
        (b"[" * 100_000, "nested too deeply"),
        (b'{"a":1,"a":2}', "stands twice"),
        (b"NaN", "no JSON number"),
        (b'{"form":"longstand-history-1"}', "Not as it was written"),
        (b"1e999", "not a history file"),
        (b"9" * 5000, "not a history file"),
        (b'"\\ud800"', "not a history file"),
    ],
)
def test_what_is_no_history_is_refused_in_words(data, why):
    (fault, *_) = verify(data).faults
    assert fault.kind == "file"
    assert why in fault.text


def test_a_file_saved_again_by_an_editor_is_noticed_and_still_checked(history):
    data = to_bytes(history).replace(b'"entries":', b'"entries": ')
    assert kinds(verify(data)) == {"file"}


SIMPLE = st.none() | st.booleans() | st.integers(-10, 10) | st.text(max_size=4)
JSON = st.recursive(
    SIMPLE,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner, max_size=3),
    max_leaves=6,
)


@cache
def a_short_one():
    return a_history(seeded(2), entries=4, anchor_every=2)[0]


@settings(max_examples=150, deadline=None)
@given(junk=JSON, pick=st.integers(0, 10**6))
def test_any_value_anywhere_gives_a_verdict_and_never_a_crash(junk, pick):
    changed = copy.deepcopy(a_short_one())
    before = digest(changed)
    paths = [*leaves(changed), *[(name,) for name in ("entries", "witnesses", "links")]]
    paths += [(name, 0) for name in ("links", "anchors", "witnesses")]
    path = paths[pick % len(paths)]
    at(changed, path[:-1])[path[-1]] = junk
    assert verify(to_bytes(changed)).sound == (digest(changed) == before)


# published examples


def test_the_canonical_form_is_that_of_the_standards_own_example():
    """RFC 8785, section 3.2.2 (input) and 3.2.3 (result)."""
    given_there = (
        rb'{"numbers":[333333333.33333329,1E30,4.50,2e-3,0.000000000000000000000000001],'
        rb'"string":"\u20ac$\u000F\u000aA\u0027\u0042\u0022\u005c\\\"\/","literals":[null,true,false]}'
    )
    assert canonical(read(given_there)).decode() == (
        '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
        r'"string":"€$\u000f\nA'
        "'"
        r'B\"\\\\\"/"}'
    )


@pytest.mark.parametrize("size", [0, 1, 2, 3, 4, 5, 7, 8, 13])
def test_a_tree_of_digests_proves_each_leaf_and_no_other(size):
    leaves = [bytes([number]) * 3 for number in range(size)]
    root, proofs = tree.grow(leaves)
    assert all(tree.root_from(leaf, n, size, proofs[n]) == root for n, leaf in enumerate(leaves))
    assert not any(tree.root_from(b"other", n, size, proofs[n]) == root for n in range(size))
    elsewhere = [(n, place) for n in range(size) for place in range(size + 1) if place != n]
    assert not any(tree.root_from(leaves[n], place, size, proofs[n]) == root for n, place in elsewhere)


def test_the_tree_is_built_as_the_standard_draws_it():
    """RFC 9162, section 2.1.5, the example with seven leaves: k over the first four, i over the next two."""
    leaves = [bytes([number]) for number in range(7)]
    a, b, c, d, e, f, j = map(tree.leaf_digest, leaves)
    node = tree.node_digest
    k, i = node(node(a, b), node(c, d)), node(e, f)
    root, proofs = tree.grow(leaves)
    assert root == node(k, node(i, j))
    assert proofs[0] == [b, node(c, d), node(i, j)]
    assert proofs[6] == [i, k]
