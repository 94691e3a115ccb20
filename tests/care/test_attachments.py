"""Photographs and documents that come with an entry: cleaned, chained, handed out safely."""

import io
import uuid
from datetime import UTC, datetime

import pytest
from django.core.exceptions import ValidationError
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import DatabaseError, transaction
from django.urls import reverse
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from pypdf import PdfWriter
from pypdf.generic import DictionaryObject, NameObject, TextStringObject

from collection.care.actions.care import log_entry
from collection.care.attachments import MOST_BYTES, Attached, cleaned
from collection.care.pictures import LONGEST_SIDE_PX, SMALL_PX, small
from collection.care.queries.attachments import path_of
from collection.chain.canonical import canonical, read
from collection.chain.verify import verify
from collection.models import Attachment, Entry
from collection.proof.actions import export_history

NOW = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
MAKER, TURNED, EXIF, GPS, TAKEN_AT = 0x010F, 0x0112, 0x8769, 0x8825, 0x9003
PLACE = {1: "N", 2: (51.0, 30.0, 1.5), 3: "W", 4: (0.0, 7.0, 2.0)}


def photograph(size=(400, 300), kind="JPEG", *, mode="RGB", notes=True):
    """A picture with what a camera writes into it: maker, time, place, turned on its side, a comment."""
    picture, exif, out = Image.new(mode, size, "red"), Image.Exif(), io.BytesIO()
    if notes:
        exif[MAKER], exif[TURNED] = "Camera 4711", 6
        exif.get_ifd(GPS).update(PLACE)
        exif.get_ifd(EXIF)[TAKEN_AT] = "2026:11:20 10:11:12"
    extra = {"comment": b"said in secret"} if kind == "JPEG" else {}
    picture.save(out, kind, exif=exif, **extra)
    return out.getvalue()


def document(change=None):
    writer, out = PdfWriter(), io.BytesIO()
    writer.add_blank_page(200, 200)
    if change:
        change(writer)
    writer.write(out)
    return out.getvalue()


def script(writer):
    words = TextStringObject("app.alert(1)")
    action = {NameObject("/S"): NameObject("/JavaScript"), NameObject("/JS"): words}
    writer._root_object[NameObject("/OpenAction")] = DictionaryObject(action)


def launch(writer):
    page = writer.pages[0]
    action = {NameObject("/S"): NameObject("/Launch"), NameObject("/F"): TextStringObject("cmd.exe")}
    page[NameObject("/AA")] = DictionaryObject({NameObject("/O"): DictionaryObject(action)})


def opened(data):
    return Image.open(io.BytesIO(data))


# cleaning


def test_a_photograph_loses_place_maker_and_comment_and_keeps_its_time_and_its_right_side_up():
    kept = cleaned("IMG 1.jpeg", photograph())
    picture = opened(kept.data)
    assert picture.size == (300, 400)
    exif = picture.getexif()
    assert dict(exif.get_ifd(GPS)) == {}
    assert dict(exif.get_ifd(EXIF)) == {TAKEN_AT: "2026:11:20 10:11:12"}
    for word in (b"4711", b"secret"):
        assert word not in kept.data
    assert (kept.name, kept.type) == ("IMG 1.jpg", "image/jpeg")


def test_the_place_is_kept_when_somebody_wants_it():
    kept = opened(cleaned("a.jpg", photograph(), keep_place=True).data).getexif()
    assert dict(kept.get_ifd(GPS)) == PLACE
    assert MAKER not in kept


def test_the_same_photograph_cleaned_twice_is_the_same_file():
    assert cleaned("a.jpg", photograph()).digest == cleaned("a.jpg", photograph()).digest


@pytest.mark.parametrize(("kind", "mode"), [("PNG", "RGBA"), ("PNG", "P"), ("WEBP", "RGB"), ("PNG", "L")])
def test_other_pictures_become_photographs(kind, mode):
    colour = "red" if mode != "L" else 120
    out = io.BytesIO()
    Image.new(mode, (40, 30), colour).save(out, kind)
    assert opened(cleaned("shot", out.getvalue()).data).format == "JPEG"


def test_what_is_see_through_turns_white_not_black():
    out = io.BytesIO()
    Image.new("RGBA", (20, 20), (0, 0, 0, 0)).save(out, "PNG")
    assert min(opened(cleaned("a.png", out.getvalue()).data).getpixel((10, 10))) > 250


def test_a_large_photograph_is_made_smaller():
    assert max(opened(cleaned("a.jpg", photograph((4000, 200))).data).size) == LONGEST_SIDE_PX


def test_something_hidden_behind_the_picture_does_not_come_along():
    assert b"<script>" not in cleaned("a.jpg", photograph() + b"<script>alert(1)</script>").data


def test_a_document_is_kept_byte_for_byte():
    data = document()
    assert cleaned("invoice.PDF", data) == Attached("invoice.pdf", "application/pdf", data)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "no photograph"),
        (b"<svg onload=alert(1)>", "no photograph"),
        (b"<html>", "no photograph"),
        (b"GIF89a" + bytes(100), "no photograph"),
        (b"MZ" + bytes(100), "no photograph"),
        (photograph()[:400], "damaged"),
        (b"%PDF-1.7 rubbish", "damaged"),
        (document()[:200], "damaged"),
        (document(script), "script"),
        (document(launch), "Launch"),
        (document(lambda writer: writer.add_attachment("x.exe", b"MZ")), "carries"),
        (document(lambda writer: writer.encrypt("secret")), "password"),
        (b"\xff" * (MOST_BYTES + 1), "larger than 15 MB"),
        (photograph((30_000, 2_100), notes=False), "too many pixels"),
    ],
)
def test_what_is_neither_is_refused_by_its_content_whatever_its_name(data, words):
    with pytest.raises(ValueError, match=words):
        cleaned("harmless.jpg", data)


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_a_damaged_file_is_cleaned_or_refused_in_words_and_never_breaks_the_page(data):
    whole = data.draw(st.sampled_from([photograph(), photograph(kind="PNG"), document(), document(script)]))
    at = data.draw(st.integers(0, len(whole) - 1))
    broken = whole[:at] + data.draw(st.binary(max_size=20)) + whole[at + data.draw(st.integers(0, 20)) :]
    try:
        kept = cleaned("file", broken)
    except ValueError as refusal:
        assert str(refusal).startswith("file ")  # noqa: PT017 - either outcome is right
    else:
        assert kept.type in ("image/jpeg", "application/pdf")


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("../../etc/passwd.jpg", "passwd.jpg"),
        ("C:\\Users\\me\\left tyre.JPG", "left tyre.jpg"),
        ('"><script>.jpg', "script.jpg"),
        ("....jpg", "file.jpg"),
        ("Öldruck ½.jpg", "Öldruck ½.jpg"),
        ("x" * 300 + ".jpg", "x" * 80 + ".jpg"),
    ],
)
def test_a_name_is_a_name_and_no_path(name, kept):
    assert cleaned(name, photograph(notes=False)).name == kept


# logging


def send(client, car, files, **changed):
    sent = {"note": "Left rear tyre.", "key": str(uuid.uuid4()), "attachments": files} | changed
    return client.post(reverse("log_kind", args=[car.pk, "note"]), sent)


def upload(data=None, name="tyre.jpg"):
    return SimpleUploadedFile(name, data if data is not None else photograph())


def page(response):
    return response.content.decode()


def test_photographs_sent_with_an_entry_are_listed_with_it(client_as, keeper, car):
    client = client_as(keeper)
    assert send(client, car, [upload(), upload(document(), "invoice.pdf")]).status_code == 302
    files = list(Entry.objects.get().attachments.all())
    assert [(file.number, file.name) for file in files] == [(1, "tyre.jpg"), (2, "invoice.pdf")]
    for name in ("car", "history"):
        shown = page(client.get(reverse(name, args=[car.pk])))
        assert "tyre.jpg" in shown
        assert "invoice.pdf" in shown
        assert shown.count("<img") == 1, "the photograph is shown, the document only named"


@pytest.mark.parametrize(("ticked", "there"), [({}, False), ({"keep_place": "on"}, True)])
def test_the_form_keeps_the_place_only_when_ticked(client_as, keeper, car, ticked, there):
    send(client_as(keeper), car, [upload()], **ticked)
    with default_storage.open(path_of(Attachment.objects.get().digest)) as file:
        assert bool(dict(Image.open(file).getexif().get_ifd(GPS))) is there


def test_a_bad_file_is_named_at_the_field_and_nothing_is_logged(client_as, keeper, car):
    answer = send(client_as(keeper), car, [upload(), upload(b"MZ", "worm.jpg")])
    assert "worm is no photograph" in answer.context["form"].errors["attachments"][0]
    assert not Entry.objects.exists()


def test_too_many_files_are_refused(client_as, keeper, car):
    answer = send(client_as(keeper), car, [upload() for _ in range(7)])
    assert "make a second one" in answer.context["form"].errors["attachments"][0]
    assert not Entry.objects.exists()


def test_when_something_else_is_wrong_the_form_says_that_the_files_must_be_chosen_again(
    client_as, keeper, car
):
    answer = send(client_as(keeper), car, [upload()], note="")
    assert "Choose the files again" in answer.context["form"].errors["attachments"][0]


def test_sent_twice_a_file_is_stored_once(client_as, keeper, car):
    client, key = client_as(keeper), str(uuid.uuid4())
    for _ in range(2):
        assert send(client, car, [upload()], key=key).status_code == 302
    assert Attachment.objects.count() == 1


def test_another_file_under_a_used_key_is_refused(client_as, keeper, car):
    client, key = client_as(keeper), str(uuid.uuid4())
    send(client, car, [upload()], key=key)
    answer = send(client, car, [upload(photograph((50, 50)))], key=key)
    assert "already used" in page(answer)
    assert Attachment.objects.count() == 1


def test_the_same_bytes_in_two_entries_lie_on_the_disk_once(client_as, keeper, car):
    for _ in range(2):
        send(client_as(keeper), car, [upload()])
    digest = Attachment.objects.values_list("digest", flat=True).distinct().get()
    assert default_storage.listdir(f"attachments/{digest[:2]}")[1].count(digest) == 1


def logged(car, keeper, key, files=(), **more):
    return log_entry(
        vehicle=car,
        kind=more.pop("kind", "note"),
        done_at=NOW,
        by=keeper,
        idempotency_key=key,
        now=NOW,
        note="Seen.",
        attachments=files,
        **more,
    ).entry


def test_a_correction_takes_the_files_over_and_a_withdrawal_does_not(car, keeper):
    picture = cleaned("a.jpg", photograph())
    first = logged(car, keeper, "a", [picture])
    second = logged(car, keeper, "b", [cleaned("b.pdf", document())], corrects=first)
    assert [file.name for file in second.attachments.all()] == ["a.jpg", "b.pdf"]
    third = logged(car, keeper, "c", corrects=second, kind="withdrawn")
    assert not third.attachments.exists()
    assert first.attachments.count() == 1


def test_nothing_comes_with_a_withdrawal(car, keeper):
    first = logged(car, keeper, "a")
    with pytest.raises(ValidationError, match="withdrawal"):
        logged(car, keeper, "b", [cleaned("a.jpg", photograph())], corrects=first, kind="withdrawn")


# the chain


@pytest.fixture
def pictured(car, keeper):
    return logged(car, keeper, "pictured", [cleaned("tyre.jpg", photograph())])


def test_an_exported_history_names_each_file_by_its_digest_and_verifies(car, pictured):
    exported = export_history(car, now=NOW)
    file = pictured.attachments.get()
    assert read(exported)["entries"][0]["attachments"] == [
        {"name": "tyre.jpg", "type": "image/jpeg", "size": file.size, "digest": file.digest}
    ]
    assert verify(exported).faults == []


@pytest.mark.parametrize("change", [{"digest": "0" * 64}, {"name": "other.jpg"}, {"size": 1}])
def test_a_file_changed_in_the_history_is_found(car, pictured, change):
    history = read(export_history(car, now=NOW))
    history["entries"][0]["attachments"][0] |= change
    assert "edited" in {fault.kind for fault in verify(canonical(history)).faults}


@pytest.mark.parametrize("times", [0, 2])
def test_a_file_taken_out_or_put_in_is_found(car, pictured, times):
    history = read(export_history(car, now=NOW))
    history["entries"][0]["attachments"] *= times
    assert "edited" in {fault.kind for fault in verify(canonical(history)).faults}


@pytest.mark.parametrize(
    "attempt",
    [
        lambda: Attachment.objects.update(digest="0" * 64),
        lambda: Attachment.objects.all()._raw_delete("default"),
        lambda: Attachment.objects.get().save(),
    ],
)
def test_the_database_itself_refuses_to_change_an_attachment(pictured, attempt):
    with pytest.raises(DatabaseError, match="only grows"), transaction.atomic():
        attempt()
    assert Attachment.objects.get().digest == pictured.attachments.get().digest


# handing out


def address(entry):
    file = entry.attachments.get()
    return reverse("attachment", args=[entry.vehicle_id, entry.pk, file.pk])


def test_a_file_is_handed_out_to_be_saved_and_a_browser_runs_nothing_in_it(client_as, owner, pictured):
    answer = client_as(owner).get(address(pictured))
    assert answer.content.startswith(b"\xff\xd8")
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["Content-Disposition"] == 'attachment; filename="tyre.jpg"'
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Security-Policy"] == "sandbox; default-src 'none'"
    assert "private" in answer["Cache-Control"]


def test_a_page_shows_a_photograph_small_and_a_document_not_at_all(client_as, owner, keeper, car):
    entry = logged(
        car, keeper, "k", [cleaned("tyre.png", photograph((3000, 2000), "PNG")), cleaned("x.pdf", document())]
    )
    picture, paper = entry.attachments.all()
    client = client_as(owner)
    answer = client.get(reverse("thumbnail", args=[car.pk, entry.pk, picture.pk]))
    assert max(opened(answer.content).size) == SMALL_PX
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["Content-Security-Policy"] == "sandbox; default-src 'none'"
    assert client.get(reverse("thumbnail", args=[car.pk, entry.pk, paper.pk])).status_code == 404
    assert reverse("thumbnail", args=[car.pk, entry.pk, picture.pk]) in page(
        client.get(reverse("car_photographs", args=[car.pk]))
    )


def test_a_small_photograph_is_not_made_larger():
    assert opened(small(cleaned("x.png", photograph((40, 30), "PNG", notes=False)).data)).size == (40, 30)


def test_a_file_that_was_changed_on_the_disk_is_not_handed_out(client_as, keeper, pictured):
    path = default_storage.path(path_of(pictured.attachments.get().digest))
    with open(path, "ab") as file:
        file.write(b"!")
    try:
        assert client_as(keeper).get(address(pictured)).status_code == 404
    finally:
        default_storage.delete(path_of(pictured.attachments.get().digest))


def test_no_address_leads_to_the_folder_itself(client_as, manager, pictured):
    path = path_of(pictured.attachments.get().digest)
    for guess in (f"/{path}", f"/media/{path}", f"/static/{path}", f"/static/../media/{path}"):
        assert client_as(manager).get(guess).status_code == 404
