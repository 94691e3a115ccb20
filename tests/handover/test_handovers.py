"""A car goes to another keeper with its history: chain intact, verified on arrival, or nothing at all."""

import hashlib
import io
import shutil
import uuid
import zipfile
from datetime import UTC, date, datetime, timedelta
from types import SimpleNamespace

import pytest
import time_machine
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from django.core.exceptions import ValidationError
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection, transaction

from collection.care.actions.attachments import attach
from collection.care.actions.care import log_entry
from collection.care.actions.chain import chain_missing
from collection.care.attachments import JPEG, PDF, Attached, cleaned
from collection.care.queries.attachments import bytes_of
from collection.chain.canonical import canonical, digest, read
from collection.chain.handover import FOLDER, PAPERS, RECEIPT, pack, unpack, with_receipt
from collection.chain.links import NOTHING_BEFORE, next_link
from collection.chain.signing import fingerprint, public_key, sign
from collection.chain.stamps import request_for
from collection.chain.verify import verify
from collection.handover.actions import handovers
from collection.handover.actions.arrivals import Arrival, arrive
from collection.handover.actions.handovers import hand_over
from collection.handover.actions.receipts import receipt_file, take_receipt
from collection.handover.queries.handovers import file_of, own_receipt
from collection.history.actions import make_share
from collection.history.queries.history import standing, stays, whole_log
from collection.host.atomic_files import store
from collection.host.installation_key import installation_key
from collection.models import (
    Anchor,
    AnchoredHead,
    Attachment,
    Bay,
    BroughtStamp,
    BroughtStatement,
    CarNotes,
    Chain,
    Countersignature,
    Entry,
    Evidence,
    Handover,
    Link,
    Owner,
    Person,
    Pseudonym,
    Reading,
    RecordEntry,
    Vehicle,
)
from collection.models.append_only import UNIQUE, guard, unguard
from collection.models.handovers import path_of
from collection.people.actions.forgetting import forget_person
from collection.proof.actions import export_history, sign_statement
from collection.proof.queries import statement_file, witnessed_since
from collection.recommission.actions.evidence import save_evidence
from tests.barn import make_barn, make_person, write_car_notes
from tests.care.test_attachments import document, photograph, script
from tests.logbook import write
from tests.proof.authority import authority

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
LATER = NOW + timedelta(hours=3)
PHOTOGRAPH = cleaned("tyre.png", photograph(kind="PNG")).data
VOLTS = [{"quantity": "rested_volts", "value": 12.5, "temperature_c": 8, "rest_hours": 12.5}]


@pytest.fixture(autouse=True)
def data_folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path


@pytest.fixture
def kept(barn, car, keeper, manager, bays):
    """A car with three years of life, its parts written down, a statement over the first entries."""
    car.batteries.create(chemistry="agm", capacity_ah=60, volts=12, made_on=date(2024, 5, 1))
    car.tyres.create(position="front_left", date_code="1521", placard_kpa=180.5)
    car.fluids.create(kind="coolant", type="eg_hybrid", glycol_pct=50)
    car.last_uses.create(event="road_use", on=date(2026, 2, 27), basis="document")
    write(car, keeper, "charge", 60, details={"completed": True, "hours": 7.5}, readings=VOLTS)
    wrong = write(car, keeper, "note", 50, note="Left tyre low.")
    moved = {
        "wheels_only": False,
        "from_bay": bays[0].pk,
        "from_bay_label": str(bays[0]),
        "to_bay": bays[1].pk,
        "to_bay_label": str(bays[1]),
    }
    write(car, keeper, "moved", 40, details=moved)
    car.bay = bays[1]
    car.save()
    seen = write(car, keeper, "inspected", 35, details={"ok": True})
    attach(seen, [Attached("tyre.jpg", JPEG, PHOTOGRAPH), Attached("invoice.pdf", PDF, document())])
    chain_missing()
    sign_statement(organisation=barn, now=NOW - timedelta(days=30))
    write(car, manager, "note", 20, note="Right tyre low.", corrects=wrong)
    write(car, keeper, "tag_opened", 10, details={"tag": "drained", "where": "coolant out"})
    chain_missing()
    return car


@pytest.fixture
def sent(kept, manager):
    """The file that goes along; nothing of the car is left in this installation, nor its key."""
    with transaction.atomic():
        file = file_of(hand_over(vehicle=kept, to="Tarn Sheds", by=manager, now=NOW))
        transaction.set_rollback(True)
    return file


@pytest.fixture
def elsewhere(db, settings, tmp_path):
    """Another installation: its own folder and key, one barn, a manager, an owner, a free bay."""
    (tmp_path / "elsewhere").mkdir()
    settings.DATA_DIR = tmp_path / "elsewhere"
    organisation = make_barn("Elsewhere Sheds")
    by = make_person("manager@elsewhere.example", organisation, "manager")
    owner = Owner.objects.create(organisation=organisation, name="Dora Finch")
    bay = Bay.objects.filter(building__site__organisation=organisation).first()
    return Arrival(organisation, owner, bay, by, LATER)


def wipe():
    """Empty all that is chained, as in an installation that never saw the car; guards are set aside."""
    for folder in ("attachments", "handovers"):
        shutil.rmtree(default_storage.path(folder), ignore_errors=True)
    with connection.cursor() as cursor:
        editor = SimpleNamespace(connection=connection, execute=lambda sql, _: cursor.execute(sql))
        unguard(editor, UNIQUE)
        Evidence.objects.filter(corrects__isnull=False).delete()
        for model in (
            BroughtStatement,
            BroughtStamp,
            Countersignature,
            AnchoredHead,
            Anchor,
            RecordEntry,
            Evidence,
            Link,
            Chain,
            Reading,
            Attachment,
        ):
            model.objects.all().delete()
        Entry.objects.filter(corrects__isnull=False).delete()
        Entry.objects.all().delete()
        Pseudonym.objects.all().delete()
        guard(editor, UNIQUE)


@pytest.fixture
def arrived(sent, elsewhere):
    wipe()
    taken = arrive(data=sent, keys=(), arrival=elsewhere)
    assert taken.verdict.faults == []
    return taken.vehicle


def papers(archive):
    """The signed facts in an archive."""
    with zipfile.ZipFile(io.BytesIO(archive)) as opened:
        return read(opened.read(PAPERS))


def files_of(archive):
    """The photographs and documents in it, by digest."""
    with zipfile.ZipFile(io.BytesIO(archive)) as opened:
        names = [name for name in opened.namelist() if name.startswith(FOLDER)]
        return {name.removeprefix(FOLDER): opened.read(name) for name in names}


def packed(facts, files):
    """Facts as they stand, signed or not, with files."""
    return in_zip(canonical(facts), files)


def in_zip(data, files=()):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr(PAPERS, data)
        for name in files:
            archive.writestr(FOLDER + name, files[name])
    return out.getvalue()


STRANGE = (b"", b"{}", b"[]", b"\xff", b"null", b'{"form":1}', b"[" * 100_000, b'{"a":NaN}')


def refused(data, arrival, keys=()):
    """What is said of a file that is not taken in; nothing may be stored."""
    before = [model.objects.count() for model in (Vehicle, Entry, Link, Person, BroughtStatement)]
    try:
        taken = arrive(data=data, keys=keys, arrival=arrival)
        assert taken.vehicle is None
        message = " ".join(fault.text for fault in taken.verdict.faults)
    except ValidationError as fault:
        message = " ".join(fault.message_dict["file"])
    assert [m.objects.count() for m in (Vehicle, Entry, Link, Person, BroughtStatement)] == before
    return message


# handing over


def test_the_car_leaves_and_its_log_says_to_whom(kept, manager):
    given = hand_over(vehicle=kept, to="Tarn Sheds", by=manager, now=NOW)
    kept.refresh_from_db()
    assert (kept.left_on, kept.bay) == (NOW.date(), None)
    last = kept.entries.order_by("-recorded_at").first()
    assert (last.kind, last.by) == ("note", manager)
    assert "Handed over to Tarn Sheds" in last.note
    assert given.digest == hashlib.sha256(file_of(given)).hexdigest()
    assert verify(export_history(kept, now=NOW)).sound


def test_a_statement_covers_every_entry_that_is_handed_over(sent):
    history = papers(sent)["history"]
    assert history["anchors"][-1]["seq"] == len(history["entries"]) == 9
    assert [entry["kind"] for entry in history["entries"][-3:]] == ["note", "record", "record"]
    left = history["entries"][-1]["details"]["left_on"]
    assert (left["was"], left["now"]) == (None, str(NOW.date()))


def test_every_link_of_the_car_ends(kept, manager):
    share, _ = make_share(
        vehicle=kept, by=manager, now=NOW, expires_at=NOW + timedelta(days=9), scope={"reader": "A buyer"}
    )
    hand_over(vehicle=kept, to="Tarn Sheds", by=manager, now=NOW)
    share.refresh_from_db()
    assert share.revoked_at == NOW


def test_nothing_more_is_logged_in_the_copy_that_stays(kept, manager):
    hand_over(vehicle=kept, to="Tarn Sheds", by=manager, now=NOW)
    kept.refresh_from_db()
    with pytest.raises(ValidationError, match="its history goes on where it is now"):
        log_entry(
            vehicle=kept, kind="note", done_at=None, by=manager, now=LATER, idempotency_key="x", note="After."
        )


def test_a_car_that_has_left_is_not_handed_over(kept, manager):
    kept.left_on = NOW.date()
    kept.save()
    with pytest.raises(ValidationError, match="has left storage"):
        hand_over(vehicle=kept, to="Tarn Sheds", by=manager, now=NOW)


def test_the_file_holds_no_owner_no_address_and_nothing_private(kept, sent):
    text = canonical(papers(sent)).decode()
    for private in ("Ada Wren", "@hollin.example", '"notes"'):
        assert private not in text
    assert "bay" not in papers(sent)["record"]["car"]


# taking over


def test_the_history_arrives_word_for_word_and_the_chain_goes_on(sent, arrived):
    before, after = papers(sent)["history"], read(export_history(arrived, now=LATER))
    assert after["chain"] == before["chain"]
    assert after["links"][: len(before["links"])] == before["links"]
    assert after["entries"][: len(before["entries"])] == before["entries"]
    assert len(after["links"]) == len(before["links"]) + 2
    assert "verified on arrival" in after["entries"][-1]["note"]
    assert after["entries"][-2]["details"]["opening"] is True
    keys = {anchor["statement"]["key"] for anchor in after["anchors"]}
    assert keys == {before["key"], public_key(installation_key())}
    verdict = verify(canonical(after))
    assert (verdict.faults, len(verdict.history["anchors"])) == ([], 3)


def test_an_earlier_export_of_the_sender_still_agrees_after_arrival(sent, arrived):
    witness = canonical(papers(sent)["history"])
    assert verify(export_history(arrived, now=LATER), witnesses=[witness]).faults == []


def test_the_record_arrives_with_its_parts(arrived, elsewhere):
    assert (arrived.model, arrived.year, arrived.stored_since) == ("Twelve", 1962, date(2026, 3, 1))
    assert (arrived.organisation, arrived.owner, arrived.bay) == (
        elsewhere.organisation,
        elsewhere.owner,
        elsewhere.bay,
    )
    assert arrived.left_on is None
    assert arrived.batteries.get().made_on == date(2024, 5, 1)
    assert arrived.tyres.get().placard_kpa == 180.5
    assert arrived.last_uses.get().basis == "document"


@pytest.fixture
def evidence(kept, keeper, manager):
    """Evidence with its document, replaced once."""
    with time_machine.travel(NOW - timedelta(days=5), tick=False):
        now = NOW - timedelta(days=5)
        first = Evidence(vehicle=kept, kind="receipt", on=date(2015, 3, 1), grade=1, note="Toll.")
        photo = Attached("toll.jpg", JPEG, PHOTOGRAPH)
        save_evidence(row=first, by=keeper, key="first-find", now=now, files=[photo])
        right = Evidence(vehicle=kept, kind="receipt", on=date(2015, 4, 1), grade=1, corrects=first)
        save_evidence(row=right, by=manager, key="second-find", now=now)
    return kept


def test_evidence_arrives_word_for_word_with_its_document(evidence, sent, elsewhere):
    wipe()
    taken = arrive(data=sent, keys=(), arrival=elsewhere)
    assert taken.verdict.faults == []
    before, after = papers(sent)["history"], read(export_history(taken.vehicle, now=LATER))
    assert after["entries"][: len(before["entries"])] == before["entries"]
    rows = list(taken.vehicle.evidence.order_by("link__seq"))
    assert [(row.on, row.grade, row.document.name) for row in rows] == [
        (date(2015, 3, 1), 1, "toll.jpg"),
        (date(2015, 4, 1), 1, "toll.jpg"),
    ]
    assert rows[1].corrects == rows[0]
    assert [row.by.name for row in rows] == ["Keeper", "Manager"]


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (lambda entry: entry["details"].update(kind="tea_leaves"), "There is no kind of evidence"),
        (lambda entry: entry["details"].update(on="soon"), "does not read as ours"),
        (lambda entry: entry["details"].update(odometer_km="5"), "not as it was chained"),
        (lambda entry: entry["details"].update(answers=[{}]), "not of their kinds"),
        (lambda entry: entry["details"].update(secret=1), "does not read as ours"),
        (lambda entry: entry.update(corrects=str(uuid.uuid4())), "does not stand before it"),
        (lambda entry: entry.update(attachments=[]), "its document is missing"),
        (lambda entry: entry["attachments"][0].update(name="other.jpg"), "not as it was chained"),
    ],
)
def test_evidence_that_our_pages_could_not_have_written_is_refused(
    evidence, sent, elsewhere, change, message
):
    wipe()

    def changed(history):
        change(next(entry for entry in history["entries"] if entry["kind"] == "evidence"))

    assert message in refused(rechained(sent, changed), elsewhere)


def test_its_tags_and_dates_are_in_force_at_once(arrived):
    assert "drained" in arrived.duties.get(duty="run_up").hold


def test_authors_arrive_by_name_and_cannot_sign_in(arrived):
    authors = Person.objects.filter(entries__vehicle=arrived, email__endswith=".invalid").distinct()
    assert sorted(person.name for person in authors) == ["Keeper", "Manager"]
    assert not any(person.is_active or person.has_usable_password() for person in authors)


def test_bays_of_the_sender_are_words_here_and_no_rows(arrived):
    stood = stays(arrived, standing(whole_log(arrived)))
    assert [stay.place for stay in stood[:2]] == ["Long shed A1", "Long shed A2"]
    assert [stay.building for stay in stood[:2]] == [None, None]


def test_it_goes_on_and_comes_back_with_all_that_was_added(kept, manager, elsewhere, settings, tmp_path):
    """Out, a year elsewhere, and home again: one chain, three hands, sound."""
    settings.DATA_DIR = tmp_path
    owner, bay = kept.owner, kept.bay
    given = file_of(hand_over(vehicle=kept, to="Elsewhere Sheds", by=manager, now=NOW))
    with transaction.atomic():
        wipe()
        settings.DATA_DIR = tmp_path / "elsewhere"
        there = arrive(data=given, keys=(), arrival=elsewhere).vehicle
        there.refresh_from_db()
        log_entry(
            vehicle=there,
            kind="note",
            done_at=LATER,
            by=elsewhere.by,
            now=LATER,
            idempotency_key="k",
            note="Cover renewed.",
        )
        later = LATER + timedelta(days=30)
        back = file_of(hand_over(vehicle=there, to="Hollin Barn", by=elsewhere.by, now=later))
        transaction.set_rollback(True)
    settings.DATA_DIR = tmp_path
    home = Arrival(kept.organisation, owner, bay, manager, later + timedelta(days=1))
    taken = arrive(data=back, keys=(), arrival=home)
    assert taken.vehicle.pk == kept.pk
    kept.refresh_from_db()
    assert (kept.left_on, kept.bay) == (None, bay)
    assert kept.entries.filter(note="Cover renewed.").get().by.name == "Manager"
    verdict = verify(export_history(kept, now=later + timedelta(days=1)))
    assert verdict.faults == []
    assert len(verdict.history["entries"]) == 9 + 5 + 2


def test_both_sides_sign_one_file(client_as, kept, manager, elsewhere, settings, tmp_path):
    """The receiving side's receipt comes back and goes into the file; another's is refused."""
    settings.DATA_DIR = tmp_path
    handover = hand_over(vehicle=kept, to="Elsewhere Sheds", by=manager, now=NOW)
    given = file_of(handover)
    with transaction.atomic():
        wipe()
        settings.DATA_DIR = tmp_path / "elsewhere"
        there = arrive(data=given, keys=(), arrival=elsewhere).vehicle
        key = fingerprint(public_key(installation_key()))
        remarks = verify(export_history(there, now=LATER)).remarks
        receipt = receipt_file(own_receipt(there))
        transaction.set_rollback(True)
    assert any("by whoever received the car, Elsewhere Sheds, at hand-over" in each for each in remarks)
    assert any(key in each for each in remarks)
    settings.DATA_DIR = tmp_path
    store(path_of(handover.digest), given)  # the folder was emptied above
    changed = read(receipt)
    changed["named"]["name"] = "Somebody Else"
    for wrong, why in ((canonical(changed), "not genuine"), (b"{}", "no receipt"), (b"", "no receipt")):
        with pytest.raises(ValidationError, match=why):
            take_receipt(handover=handover, data=wrong)
    page = f"/handovers/{handover.pk}/receipt/"
    answer = client_as(manager).post(page, {"receipt": SimpleUploadedFile("receipt.json", receipt)})
    assert answer.status_code == 302
    both = client_as(manager).get(f"/handovers/{handover.pk}/file/").content
    assert files_of(both) == files_of(given)
    with zipfile.ZipFile(io.BytesIO(both)) as archive:
        assert archive.read(RECEIPT) == receipt
    assert unpack(both).verdict.faults == []
    forged = with_receipt(given, canonical(changed))
    assert "not genuine" in unpack(forged).verdict.faults[0].text
    assert "signed by both sides" in client_as(manager).get("/handovers/").content.decode()
    assert verify(export_history(kept, now=LATER)).faults == []


def test_witnesses_of_the_sender_arrive_with_the_car(kept, manager, elsewhere, settings, tmp_path):
    settings.DATA_DIR = tmp_path
    authority_row = kept.organisation.witnesses.create(
        kind="authority",
        to="https://time.example/",
        name="Fernlea",
        made_by=manager,
        made_at=NOW,
        next_at=NOW,
    )
    anchor, moment = Anchor.objects.get(), NOW - timedelta(days=30)
    stamp = authority().answer(request_for(digest(anchor.statement)), moment)
    authority_row.witnessed.create(anchor=anchor, at=moment, response=stamp.hex())
    given = file_of(hand_over(vehicle=kept, to="Elsewhere Sheds", by=manager, now=NOW))
    authority_row.witnessed.all().delete()
    wipe()
    settings.DATA_DIR = tmp_path / "elsewhere"
    there = arrive(data=given, keys=(), arrival=elsewhere).vehicle
    verdict = verify(export_history(there, now=LATER))
    assert verdict.faults == []
    assert verdict.remarks[0].startswith(f"Witnessed from outside since {moment:%Y-%m-%d}")
    assert witnessed_since(there) is not None


def test_inside_one_installation_the_row_itself_moves(kept, manager, outsider, other_barn):
    given = file_of(hand_over(vehicle=kept, to="Tarn Sheds", by=manager, now=NOW))
    theirs = Owner.objects.create(organisation=other_barn, name="Cleo Marsh")
    taken = arrive(data=given, keys=(), arrival=Arrival(other_barn, theirs, None, outsider, LATER))
    assert taken.vehicle.pk == kept.pk
    assert Vehicle.objects.get(pk=kept.pk).organisation == other_barn
    assert Handover.objects.filter(organisation=kept.organisation).count() == 1
    stood = stays(taken.vehicle, standing(whole_log(taken.vehicle)))
    assert {stay.building for stay in stood} == {None}, "no building of the old keeper is shown to the new"
    earlier = sign_statement(organisation=other_barn, now=LATER + timedelta(days=1))
    kept_outside = canonical(statement_file(earlier))
    assert verify(export_history(taken.vehicle, now=LATER), witnesses=[kept_outside]).faults == []


def test_a_statement_of_the_new_keeper_from_before_the_car_came_is_no_contradiction(
    kept, manager, outsider, other_barn, foreign_car
):
    """In one installation one key signs for both: who knew nothing then had not the car then."""
    write(foreign_car, outsider, "note", 55, note="Seen.")
    chain_missing()
    sign_statement(organisation=other_barn, now=NOW - timedelta(days=58))
    write(foreign_car, outsider, "note", 12, note="Seen again.")
    chain_missing()
    known = sign_statement(organisation=other_barn, now=NOW - timedelta(days=5))
    statement = canonical(statement_file(known))
    given = file_of(hand_over(vehicle=kept, to="Tarn Sheds", by=manager, now=NOW))
    theirs = Owner.objects.create(organisation=other_barn, name="Ebba Lund")
    car = arrive(data=given, keys=(), arrival=Arrival(other_barn, theirs, None, outsider, LATER)).vehicle
    assert verify(export_history(car, now=LATER), witnesses=[statement]).faults == []


# photographs and documents


def test_photographs_and_documents_come_along_word_for_word(sent, arrived):
    came = Attachment.objects.filter(entry__vehicle=arrived).order_by("number")
    assert [(file.name, file.type, file.number) for file in came] == [
        ("tyre.jpg", JPEG, 1),
        ("invoice.pdf", PDF, 2),
    ]
    assert bytes_of(came[0]) == PHOTOGRAPH
    assert set(files_of(sent)) == {file.digest for file in came}


def test_a_file_that_did_not_come_along_is_told_and_its_entry_still_stands(sent, elsewhere):
    wipe()
    taken = arrive(data=packed(papers(sent), {}), keys=(), arrival=elsewhere)
    assert taken.missing == 2
    assert Attachment.objects.filter(entry__vehicle=taken.vehicle).count() == 2


def test_a_file_too_large_to_go_along_is_counted(kept, manager, monkeypatch):
    monkeypatch.setattr(handovers, "MOST_OF_FILES", len(PHOTOGRAPH))
    given = hand_over(vehicle=kept, to="Tarn Sheds", by=manager, now=NOW)
    assert given.left_out == 1
    assert list(files_of(file_of(given)).values()) == [PHOTOGRAPH]


@pytest.mark.parametrize("change", [lambda data: data + b"x", lambda data: data[:0]])
def test_a_changed_photograph_is_found_out(sent, elsewhere, change):
    wipe()
    files = files_of(sent)
    first = next(iter(files))
    data = packed(papers(sent), files | {first: change(files[first])})
    assert "none that an entry names" in refused(data, elsewhere)


def test_a_file_that_no_entry_names_is_not_carried_in(sent, elsewhere):
    wipe()
    stowaway = {hashlib.sha256(b"MZ").hexdigest(): b"MZ"}
    assert "none that an entry names" in refused(packed(papers(sent), files_of(sent) | stowaway), elsewhere)
    assert "none that an entry names" in refused(packed(papers(sent), {"../../evil": b"x"}), elsewhere)


@pytest.mark.parametrize(
    ("type_", "data"),
    [
        (JPEG, b"<html><script>alert(1)</script>"),
        (PDF, document(script)),
        ("text/html", b"<b>"),
        (JPEG, document()),
    ],
)
def test_a_file_that_we_would_not_have_stored_is_refused_though_signed(sent, elsewhere, type_, data):
    wipe()
    digest = hashlib.sha256(data).hexdigest()

    def with_it(history):
        file = {"name": "x.jpg", "type": type_, "size": len(data), "digest": digest}
        history["entries"][0]["attachments"] = [file]

    hostile = papers(rechained(sent, with_it))
    message = refused(packed(hostile, files_of(sent) | {digest: data}), elsewhere)
    assert "cannot be taken in" in message


# privacy


def test_what_the_former_keeper_knew_of_keys_and_alarms_does_not_move_with_the_row(
    kept, manager, outsider, other_barn
):
    write_car_notes(kept, "hook 4", "4711")
    kept.notes = "owes us for March"
    kept.save()
    given = file_of(hand_over(vehicle=kept, to="Tarn Sheds", by=manager, now=NOW))
    theirs = Owner.objects.create(organisation=other_barn, name="Ebba Lund")
    car = arrive(data=given, keys=(), arrival=Arrival(other_barn, theirs, None, outsider, LATER)).vehicle
    assert not CarNotes.objects.filter(vehicle=car).exists()
    car.refresh_from_db()
    assert car.notes == ""
    assert not car.shares.exists()


def test_a_person_forgotten_is_in_no_file_that_we_keep_and_the_chain_still_holds(kept, keeper, manager):
    given = hand_over(vehicle=kept, to="Tarn Sheds", by=manager, now=NOW)
    assert b"Keeper" in canonical(papers(file_of(given)))
    forget_person(person=keeper, today=NOW.date())
    assert file_of(given) is None
    assert verify(export_history(kept, now=LATER)).sound


def test_a_history_with_somebody_forgotten_arrives_under_a_number(
    kept, keeper, manager, elsewhere, settings, tmp_path
):
    settings.DATA_DIR = tmp_path
    forget_person(person=keeper, today=NOW.date())
    given = file_of(hand_over(vehicle=kept, to="Elsewhere Sheds", by=manager, now=NOW))
    wipe()
    settings.DATA_DIR = tmp_path / "elsewhere"
    car = arrive(data=given, keys=(), arrival=elsewhere).vehicle
    names = {entry.by.name for entry in car.entries.select_related("by")}
    assert "Keeper" not in names
    assert any(name.startswith("Deleted person") for name in names)


# what is refused stores nothing


def test_a_car_that_its_keeper_has_not_handed_over_is_not_taken_from_them(kept, sent, outsider, other_barn):
    theirs = Owner.objects.create(organisation=other_barn, name="Cleo Marsh")
    message = refused(sent, Arrival(other_barn, theirs, None, outsider, LATER))
    assert "has not handed the car over" in message


def test_the_same_file_twice_is_taken_once(sent, arrived, elsewhere):
    assert "has not handed the car over" in refused(sent, elsewhere)


def test_a_plain_export_is_no_handover(kept, elsewhere, settings, tmp_path):
    settings.DATA_DIR = tmp_path
    assert "no file with which a car was handed over" in refused(export_history(kept, now=NOW), elsewhere)


@pytest.mark.parametrize("data", [b"", b"{}", b"PK\x03\x04", b"\xff" * 99, *map(in_zip, STRANGE)])
def test_what_is_no_file_of_ours_is_told_so(elsewhere, data):
    assert "This is no file with which a car was handed over" in refused(data, elsewhere)


def forged(sent, change, key=None):
    """The file changed and signed anew with a key of the forger's own."""
    facts = papers(sent)
    change(facts)
    key = key or Ed25519PrivateKey.generate()
    history = {name: value for name, value in facts["history"].items() if name not in ("key", "signature")}
    inside = files_of(sent)
    history["key"] = public_key(key)
    history["signature"] = sign(key, history)
    return pack(key, history=canonical(history), record=facts["record"], to=facts["to"], files=inside)


@pytest.mark.parametrize(
    "change",
    [
        lambda facts: facts["history"]["entries"][0].update(note="Charged weekly, of course."),
        lambda facts: facts["history"]["entries"].pop(1),
        lambda facts: facts["history"]["links"].reverse(),
        lambda facts: facts["history"]["entries"][0]["readings"][0].update(value=12.8),
        lambda facts: facts["history"]["car"].update(year=1931),
    ],
)
def test_a_forged_history_is_found_out_or_carries_another_key(sent, elsewhere, change):
    wipe()
    right = fingerprint(papers(sent)["key"]).replace(" ", "")
    assert refused(forged(sent, change), elsewhere, keys=(right,))


def test_a_changed_record_breaks_the_signature_over_both(sent, elsewhere):
    wipe()
    facts = papers(sent)
    facts["record"]["car"]["chassis_number"] = "ANOTHER"
    assert "not signed together" in refused(packed(facts, files_of(sent)), elsewhere)


def test_the_key_told_by_telephone_is_held_against_the_file(sent, elsewhere):
    wipe()
    assert "which you did not name" in refused(sent, elsewhere, keys=("0" * 32,))
    right = fingerprint(papers(sent)["key"])
    assert arrive(data=sent, keys=(right,), arrival=elsewhere).vehicle


@pytest.mark.parametrize(
    "change",
    [
        lambda record: record.update(extra=[]),
        lambda record: record["car"].update(year=3),
        lambda record: record["car"].update(organisation=1),
        lambda record: record.update(tyres="none"),
        lambda record: record["batteries"][0].update(made_on="soon"),
    ],
)
def test_a_record_that_we_could_not_have_written_is_refused(sent, elsewhere, change):
    wipe()
    data = forged(sent, lambda facts: change(facts["record"]))
    assert "does not read as one of ours" in refused(data, elsewhere)


def rechained(sent, change):
    """A file whose entries were changed before it was chained and signed, all of it right in itself."""

    def all_of_it(facts):
        history = facts["history"]
        change(history)
        links, previous = [], NOTHING_BEFORE
        for seq, entry in enumerate(history["entries"], 1):
            links.append(next_link(history["chain"], entry, car=history["car"], seq=seq, previous=previous))
            previous = links[-1]["digest"]
        history["links"], history["anchors"] = links, []

    return forged(sent, all_of_it)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (lambda h: h["entries"][0].update(kind="polished"), "no kind of entry"),
        (lambda h: h["entries"][0]["details"].update(hours="many"), "give a number"),
        (lambda h: h["entries"][0]["details"].update(secret=1), "no such detail"),
        (lambda h: h["entries"][0].update(id="1"), "not of the form that we write"),
        (lambda h: h["entries"][0].update(corrects=str(uuid.uuid4())), "does not stand before it"),
        (lambda h: h["entries"][0].update(done_at="2031-01-01T00:00:00.000000Z"), "in the future"),
        (lambda h: h["entries"][0].update(key=""), "no key of 1 to 64"),
        (lambda h: h["entries"][0]["readings"][0].update(quantity="gold"), "holds no reading"),
        (lambda h: h["entries"][1].update(key=h["entries"][0]["key"]), "already here under the same number"),
    ],
)
def test_an_entry_that_our_pages_could_not_have_written_is_refused(sent, elsewhere, change, message):
    wipe()
    assert message in refused(rechained(sent, change), elsewhere)


def test_a_file_puts_no_words_into_the_mouth_of_somebody_here(sent, elsewhere):
    wipe()
    token = str(Pseudonym.objects.create(person=elsewhere.by).token)

    def by_me(history):
        history["entries"][0]["by"] = token

    assert "did not write here" in refused(rechained(sent, by_me), elsewhere)


def test_an_entry_of_another_car_is_not_overwritten(sent, elsewhere, foreign_car, outsider):
    wipe()
    mine = write(foreign_car, outsider, "note", 3, note="Mine.")

    def same_id(history):
        history["entries"][0]["id"] = str(mine.pk)

    assert "already here under the same number" in refused(rechained(sent, same_id), elsewhere)


# the pages


def test_a_manager_hands_over_and_another_takes_over_by_the_pages(
    client_as, kept, manager, outsider, other_barn
):
    theirs = Owner.objects.create(organisation=other_barn, name="Cleo Marsh")
    client = client_as(manager)
    page = client.post(f"/cars/{kept.pk}/hand-over/", {"to": "Tarn Sheds"})
    assert "Tick this to hand the car over" in page.content.decode()
    assert client.post(f"/cars/{kept.pk}/hand-over/", {"to": "Tarn Sheds", "sure": "on"}).status_code == 302
    listed = client.get("/handovers/").content.decode()
    assert "Tarn Sheds" in listed
    file = client.get(f"/handovers/{Handover.objects.get().pk}/file/")
    assert "attachment" in file["Content-Disposition"]
    key = fingerprint(papers(file.content)["key"])
    assert key in listed
    sent = {"file": SimpleUploadedFile("car.zip", file.content), "owner": theirs.pk, "key": key.upper()}
    answer = client_as(outsider).post("/cars/arrive/", sent, follow=True)
    assert "its history is sound" in answer.content.decode()
    assert Vehicle.objects.get(pk=kept.pk).organisation == other_barn
    assert client.get(f"/cars/{kept.pk}/").status_code == 404


def test_an_unsound_file_is_told_fault_by_fault(client_as, kept, sent, outsider, other_barn):
    theirs = Owner.objects.create(organisation=other_barn, name="Cleo Marsh")
    facts = papers(sent)
    facts["history"]["entries"][0]["note"] = "Charged weekly."
    file = SimpleUploadedFile("car.zip", packed(facts, files_of(sent)))
    html = client_as(outsider).post("/cars/arrive/", {"file": file, "owner": theirs.pk}).content.decode()
    assert "the file is not sound" in html
    assert "was edited after it was chained" in html


def test_an_owner_of_another_organisation_is_no_choice(client_as, kept, sent, outsider):
    answer = client_as(outsider).post(
        "/cars/arrive/", {"file": SimpleUploadedFile("car.zip", sent), "owner": kept.owner_id}
    )
    assert "owner" in answer.context["form"].errors
    assert Vehicle.objects.get(pk=kept.pk).organisation == kept.organisation


def test_what_unpacks_was_packed(sent):
    brought = unpack(sent)
    assert brought.verdict.sound
    assert brought.facts["to"] == "Tarn Sheds"
    assert brought.files == files_of(sent)
