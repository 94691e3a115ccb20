"""Witnesses from outside: stamped, mailed, countersigned; what fails waits and is told."""

from datetime import timedelta

import pytest
from django.core import mail
from django.urls import reverse
from django.utils import timezone

from collection import tasks
from collection.care.actions.chain import chain_missing
from collection.chain.canonical import canonical, digest
from collection.chain.countersigning import statement_of, who_signs
from collection.chain.signing import public_key, sign
from collection.chain.verify import verify
from collection.host.sending import Answered, NotSent
from collection.models import Chain, Countersignature, Witness, Witnessed
from collection.notices import statement_mail
from collection.operations.schedules import PERIODIC
from collection.proof.actions import export_history, sign_statement
from collection.proof.queries import not_yet_shown, witnessed_since, witnesses_due
from collection.proof.witnessing import add_witness, end_witness, show
from tests.logbook import write
from tests.proof.authority import Authority, authority, certificate_of
from tests.proof.chain_files import OWNERS_KEY

ADDRESS = "https://time.example/stamp"


@pytest.fixture(autouse=True)
def data_folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    settings.SENDS_MAIL = True


@pytest.fixture
def now():
    return timezone.now()


@pytest.fixture
def anchor(barn, car, keeper, now):
    write(car, keeper, "note", 1, note="Dry")
    chain_missing()
    return sign_statement(organisation=barn, now=now)


@pytest.fixture
def stamping(barn, manager, anchor, now):
    return add_witness(
        organisation=barn, kind="authority", to=ADDRESS, name="Fernlea Time", by=manager, now=now
    )


def shown(witness, now, send=None, made=None):
    stamps = made or authority()

    def answer(_to, body, _headers, most):
        assert most
        return Answered(200, stamps.answer(body, now))

    return show(witness.pk, clock=lambda: now, mail=statement_mail.send, send=send or answer)


def test_a_statement_is_stamped_and_the_file_is_witnessed_since(stamping, anchor, car, now):
    assert witnesses_due(now) == [stamping.pk]
    assert shown(stamping, now) == 1
    assert (witnesses_due(now), not_yet_shown(stamping)) == ([], [])
    assert shown(stamping, now) == 0, "once is enough"
    verdict = verify(export_history(car, now=now), keys=[certificate_of(authority().root)])
    assert verdict.faults == []
    assert verdict.remarks[0].startswith(f"Witnessed from outside since {now:%Y-%m-%d}, up to entry")
    assert abs(witnessed_since(car) - now) < timedelta(seconds=2)


def test_only_the_digest_of_the_statement_goes_to_an_authority(stamping, anchor, now):
    sent = []

    def send(to, body, _headers, most):
        sent.append((to, body))
        return Answered(200, authority().answer(body, now))

    shown(stamping, now, send)
    ((to, body),) = sent
    assert to == ADDRESS
    assert bytes.fromhex(digest(anchor.statement)) in body
    assert len(body) < 80


@pytest.mark.parametrize(
    ("answer", "why"),
    [
        (NotSent("The name time.example is not known."), "not known"),
        (Answered(503), "answered 503"),
        (Answered(200, b"<html>"), "no time stamp"),
        (lambda body, now: authority().answer(another(body), now), "stamp of something else"),
        (lambda body, now: authority().answer(body, now - timedelta(days=3)), "its clock says"),
        (lambda body, now: Authority(stamps=False).answer(body, now), "no time stamp"),
    ],
)
def test_what_an_authority_does_wrong_is_told_and_tried_again(stamping, now, answer, why):
    def send(_to, body, _headers, most):
        if isinstance(answer, Exception):
            raise answer
        return answer if isinstance(answer, Answered) else Answered(200, answer(body, now))

    assert shown(stamping, now, send) == 0
    stamping.refresh_from_db()
    assert why in stamping.failure
    assert stamping.failing_since == now
    assert now < stamping.next_at < now + timedelta(minutes=10)
    assert not Witnessed.objects.exists()
    later = stamping.next_at + timedelta(seconds=1)
    assert shown(stamping, later) == 1
    stamping.refresh_from_db()
    assert (stamping.failing_since, stamping.failure) == (None, "")


def another(body):
    from asn1crypto import tsp

    asked = tsp.TimeStampReq.load(body)
    asked["message_imprint"]["hashed_message"] = bytes(32)
    return tsp.TimeStampReq.load(asked.dump(force=True)).dump()


def test_the_pause_grows_to_half_a_day_and_no_further(stamping, now):
    def send(*_args, **_more):
        raise NotSent("nothing there")

    for _ in range(12):
        stamping.refresh_from_db()
        now = stamping.next_at
        shown(stamping, now, send)
    stamping.refresh_from_db()
    assert timedelta(hours=12) <= stamping.next_at - now <= timedelta(hours=13.3)


def test_two_workers_ask_once(stamping, now):
    asked = []

    def send(_to, body, _headers, most):
        asked.append(body)
        assert shown(stamping, now, send) == 0, "the other finds it claimed"
        return Answered(200, authority().answer(body, now))

    assert shown(stamping, now, send) == 1
    assert len(asked) == 1


def test_several_authorities_stamp_and_an_ended_one_is_asked_no_more(
    stamping, barn, manager, anchor, car, now
):
    second = add_witness(
        organisation=barn, kind="authority", to=ADDRESS + "2", name="Second", by=manager, now=now
    )
    other = Authority("Marlow Time")
    assert (shown(stamping, now), shown(second, now, made=other)) == (1, 1)
    text = " ".join(verify(export_history(car, now=now)).remarks)
    assert "“Fernlea Time”" in text
    assert "“Marlow Time”" in text
    end_witness(witness=second, now=now)
    write(car, manager, "note", 0, note="Damp")
    chain_missing()
    sign_statement(organisation=barn, now=now)
    assert witnesses_due(now) == [stamping.pk]


def test_a_statement_is_mailed_with_its_file_and_without_a_mail_server_it_is_told(
    barn, manager, anchor, car, now, settings
):
    insurer = add_witness(
        organisation=barn, kind="mail", to="files@insurer.example", name="Insurer", by=manager, now=now
    )
    settings.SENDS_MAIL = False
    assert shown(insurer, now) == 0
    insurer.refresh_from_db()
    assert "no mail server" in insurer.failure
    settings.SENDS_MAIL = True
    assert shown(insurer, insurer.next_at) == 1
    (letter,) = mail.outbox
    assert letter.to == ["files@insurer.example"]
    assert str(car) not in letter.body
    ((name, data, _),) = letter.attachments
    assert name == f"statement-{anchor.number}-{anchor.at:%Y-%m-%d}.json"
    data = data if isinstance(data, bytes) else data.encode()
    assert verify(export_history(car, now=now), witnesses=[data]).faults == []


def test_sending_is_a_job_that_comes_round_and_no_page_sends(stamping, monkeypatch, client_as, manager, now):
    assert "collection.tasks.show_statements" in [job.func for job in PERIODIC]
    left = []
    monkeypatch.setattr(tasks, "leave", lambda *what: left.append(what))
    tasks.show_statements()
    assert left == [("collection.tasks.show_statements_to", stamping.pk)]
    monkeypatch.setattr("collection.host.sending._ends", lambda _parts: pytest.fail("a page sends"))
    assert client_as(manager).get(reverse("witnesses")).status_code == 200


def test_a_manager_adds_and_ends_a_witness_and_an_address_inside_is_refused(client_as, manager, barn):
    client, page = client_as(manager), reverse("witnesses")
    refused = client.post(page, {"kind": "authority", "name": "Ours", "to": "http://10.0.0.1/tsa"})
    assert "Only https is sent to" in refused.content.decode()
    assert (
        "no mail address"
        in client.post(page, {"kind": "mail", "name": "Insurer", "to": "nobody"}).content.decode()
    )
    client.post(page, {"kind": "mail", "name": "Insurer", "to": "files@insurer.example"})
    row = Witness.objects.get()
    client.post(page, {"what": "end", "witness": row.pk})
    row.refresh_from_db()
    assert row.ended_at


def test_an_owner_sets_their_own_address_and_sees_no_other(client_as, owner, manager, barn, now):
    other = add_witness(organisation=barn, kind="mail", to="x@insurer.example", name="X", by=manager, now=now)
    client, page = client_as(owner), reverse("witnesses")
    client.post(page, {"kind": "authority", "name": "mine", "to": ADDRESS})
    mine = Witness.objects.get(made_by=owner)
    assert (mine.kind, mine.to) == ("mail", owner.email)
    shown_page = client.get(page).content.decode()
    assert owner.email in shown_page
    assert "insurer" not in shown_page
    assert client.post(page, {"what": "end", "witness": other.pk}).status_code == 404


def signed_by_owner(car, now, **more):
    chain = Chain.objects.get(vehicle=car)
    last, named = chain.links.latest("seq"), who_signs("Ida Marl")
    head = (str(chain.pk), last.seq, last.digest)
    statement = (
        statement_of(head, role="owner", occasion="intake", named=named, at=now, key=public_key(OWNERS_KEY))
        | more
    )
    return {
        "form": "countersignature",
        "statement": statement,
        "signature": sign(OWNERS_KEY, statement),
        "named": named,
        "passkey": None,
    }


def sent(signed, **more):
    fields = {"role": "owner", "occasion": "intake", "name": "Ida Marl"}
    return fields | {"signed": canonical(signed).decode()} | more


def test_an_owner_countersigns_and_the_file_says_so(client_as, owner, anchor, car, now):
    page = reverse("countersign", args=[car.pk])
    answer = client_as(owner).post(page, sent(signed_by_owner(car, now)))
    assert answer.status_code == 302, answer.content.decode()
    verdict = verify(export_history(car, now=now))
    assert verdict.faults == []
    assert any("by the owner, Ida Marl, at intake" in remark for remark in verdict.remarks)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        (lambda s: s["statement"].update(head="0" * 64), "has grown meanwhile"),
        (lambda s: s.update(signature="0" * 128), "does not fit the key"),
        (lambda s: s["statement"].update({"as": "surveyor"}), "not what stands here"),
        (lambda s: s["named"].update(name="Somebody Else"), "not what stands here"),
        (lambda s: s.update(passkey={"authenticator": "00", "client": "7b7d"}), "does not fit the key"),
        (lambda s: s.clear(), "Nothing was signed"),
    ],
)
def test_what_was_not_signed_so_is_refused(client_as, owner, anchor, car, now, change, why):
    signed = signed_by_owner(car, now)
    change(signed)
    answer = client_as(owner).post(reverse("countersign", args=[car.pk]), sent(signed))
    assert why in answer.content.decode()
    assert not Countersignature.objects.exists()


def test_a_viewer_cannot_countersign(client_as, viewer, anchor, car):
    assert client_as(viewer).get(reverse("countersign", args=[car.pk])).status_code == 403


def test_the_stamp_is_saved_as_any_programme_reads_it(client_as, manager, outsider, stamping, anchor, now):
    shown(stamping, now)
    row = Witnessed.objects.get()
    page = client_as(manager).get(reverse("statement", args=[anchor.pk])).content.decode()
    address = reverse("stamp", args=[row.pk])
    assert address in page
    answer = client_as(manager).get(address)
    assert (answer["Content-Type"], answer.content.hex()) == ("application/timestamp-reply", row.response)
    assert client_as(outsider).get(address).status_code == 404
