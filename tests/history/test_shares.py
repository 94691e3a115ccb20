"""Links to one car's history: what each shows, to whom, until when, and who opened them."""

import hashlib
import os
import random
import re
from datetime import UTC, datetime, timedelta
from io import BytesIO

import pypdf
import pytest
import time_machine
from django.core.cache import cache
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse
from PIL import Image

from collection.car_page.actions import show_by
from collection.care.actions.attachments import attach
from collection.care.actions.chain import chain_missing
from collection.care.actions.record import Edit, open_records
from collection.care.attachments import JPEG, Attached
from collection.chain.canonical import canonical
from collection.chain.canonical import read as read_json
from collection.chain.verify import verify
from collection.history.actions import LONGEST, digest_of, make_share, revoke_share
from collection.history.proof_scope import within
from collection.history.scope import WITHHELD, Scope
from collection.models import Anchor, Evidence, Owner, ShareLink, ShareOpening
from collection.people.actions.forgetting import forget_person
from collection.people.queries.personal import about_person
from collection.proof.actions import export_history, sign_statement
from collection.proof.queries import statement_file
from collection.recommission.actions.evidence import save_evidence
from collection.web import visitors
from tests.barn import make_person
from tests.logbook import NOON, TODAY, ago, as_shown, write

PICTURED = 10  # days ago


def a_picture():
    out = BytesIO()
    Image.linear_gradient("L").resize((64, 48)).convert("RGB").save(out, "JPEG")
    return out.getvalue()


PICTURE = a_picture()
PICTURE_DIGEST = hashlib.sha256(PICTURE).hexdigest()
HEAD = {"X-Robots-Tag": "noindex, nofollow, noarchive", "Referrer-Policy": "no-referrer"}


@pytest.fixture(autouse=True)
def _today(db, settings, tmp_path):
    settings.DATA_DIR = tmp_path
    cache.clear()
    with time_machine.travel(NOON, tick=False):
        yield
    cache.clear()


@pytest.fixture
def logged(car, keeper, owner, bays):
    """A log with a move, a note that names owner and place, and an entry by the owner."""
    write(
        car,
        keeper,
        "charge",
        200,
        details={"completed": True},
        readings=[{"quantity": "rested_volts", "value": 12.7}],
    )
    moved = {
        "wheels_only": False,
        "from_bay": bays[0].pk,
        "from_bay_label": str(bays[0]),
        "to_bay": bays[2].pk,
        "to_bay_label": str(bays[2]),
    }
    write(car, keeper, "moved", 100, details=moved)
    write(car, keeper, "note", 50, note="Mrs WREN telephoned; the Long shed leaks above Hollin lane.")
    write(car, owner, "note", 20, note="Looked at it.")
    car.bay = bays[2]
    car.save()
    chain_missing()
    return car


def share(car, by, days=10, **scope):
    made, token = make_share(
        vehicle=car,
        by=by,
        now=NOON,
        expires_at=NOON + timedelta(days=days),
        scope={"reader": "A buyer"} | scope,
    )
    return made, f"/shared/{token}/"


def read(url, **headers):
    return Client().get(url, **headers)


def body(url):
    answer = read(url)
    assert answer.status_code == 200
    return answer.content.decode()


# the token


def test_the_token_is_long_random_and_kept_as_a_digest_only(logged, manager):
    made, url = share(logged, manager)
    token = url.split("/")[2]
    assert len(token) == 43  # 32 bytes in base 64
    assert made.token_digest == digest_of(token)
    kept = [str(getattr(made, field.attname)) for field in ShareLink._meta.concrete_fields]
    assert not any(token in value for value in kept)
    assert len({share(logged, manager)[1] for _ in range(50)}) == 50


@pytest.mark.parametrize(
    "change", [lambda t: t[:-1], lambda t: t + "A", lambda t: t.swapcase(), lambda t: digest_of(t)]
)
def test_no_other_token_opens_it(logged, manager, change):
    _, url = share(logged, manager)
    assert read(f"/shared/{change(url.split('/')[2])}/").status_code == 404


def test_an_unknown_token_says_no_more_than_that(logged):
    answer = read("/shared/nothing/")
    assert answer.status_code == 404
    assert "Wendlow" not in answer.content.decode()


# not to be found, not to be kept


@pytest.mark.parametrize("part", ["", "pdf/", "file/"])
def test_no_search_engine_no_cache_no_referrer_learns_of_it(logged, manager, part):
    _, url = share(logged, manager, with_owner=True, with_place=True)
    for answer in (read(url + part), read("/shared/nothing/" + part)):
        assert {name: answer[name] for name in HEAD} == HEAD
        assert "no-store" in answer["Cache-Control"]
    assert '<meta name="robots" content="noindex' in body(url)


def test_the_reader_needs_no_sign_in_and_gets_no_menu(logged, manager):
    html = body(share(logged, manager)[1])
    assert "Storage history" in html
    assert not re.search(r'href="/(due|cars|week|people|trust|sign-in)', html)


# scope


def test_names_are_left_out_unless_they_are_ticked(logged, manager):
    html = body(share(logged, manager)[1])
    told = re.sub(r"<svg\b.*?</svg>", "", html, flags=re.S)  # whose shapes hold such letters too
    for name in ("Ada Wren", "Wren", "WREN", "Long shed", "Hollin", "A1", "A3"):
        assert name not in told, name
    assert f"Mrs {WITHHELD} telephoned" in html
    assert "the owner" in html, "an entry by the owner names nobody"
    assert "Enclosed, unheated" in html, "the kind of shelter is told"


def test_each_tick_shows_what_it_says(logged, manager):
    owner = body(share(logged, manager, with_owner=True)[1])
    place = body(share(logged, manager, with_place=True)[1])
    assert "Ada Wren" in owner
    assert "Long shed" not in owner
    assert "Long shed A3" in place
    assert "Kept by Hollin Barn" in place
    assert "Ada Wren" not in place


def test_costs_are_told_only_where_they_are_ticked(logged, manager):
    assert "Estimated cost" not in body(share(logged, manager)[1])
    assert "Estimated cost" in body(share(logged, manager, with_prices=True)[1])


def test_notes_may_be_left_out_altogether(logged, manager):
    assert "telephoned" not in body(share(logged, manager, with_notes=False)[1])


def test_a_period_shows_only_what_was_done_in_it_and_no_present_state(logged, manager):
    html = body(share(logged, manager, first=ago(120), last=ago(40))[1])
    assert "telephoned" in html
    assert "12.7" not in html
    assert "Looked at it" not in html
    for present in ("What is due", "Condition outlook", "In storage since", "1 Mar 2026"):
        assert present not in html
    assert "Told here from" in html


def test_a_link_opens_its_own_car_and_no_other(logged, neighbour_car, keeper, manager):
    write(neighbour_car, keeper, "note", 5, note="Of the neighbour.")
    html = body(share(logged, manager)[1])
    assert "Of the neighbour" not in html
    assert "1971" not in html


def test_photographs_are_counted_and_not_shown(logged, keeper, manager):
    """A picture tells the place and the number plate whatever the ticks say."""
    entry = write(logged, keeper, "inspected", 3, details={"ok": True})
    attach(entry, [Attached("Mrs Wren's barn.jpg", JPEG, b"a picture")])
    for html in (
        body(share(logged, manager, with_owner=True, with_place=True)[1]),
        body(share(logged, manager)[1]),
    ):
        assert "1 photograph or document: ask whoever shared this" in as_shown(html)
        assert "barn.jpg" not in html
        assert "/files/" not in html


# the file


def test_the_file_is_given_whole_and_proves_itself(logged, manager):
    _, url = share(logged, manager, with_owner=True, with_place=True, with_files=True)
    verdict = verify(read(f"{url}file/").content)
    assert verdict.faults == []
    assert len(verdict.history["entries"]) == 4
    assert "verify.html" in body(url)


@pytest.fixture
def proven(logged, keeper, barn):
    """Record and evidence stand in the chain as well, and a statement covers it."""
    open_records([logged], Edit(keeper, NOON))
    row = Evidence(vehicle=logged, kind="receipt", on=ago(4000), note="Bill to Mrs Wren, Hollin.")
    save_evidence(row=row, by=keeper, key="a-find", now=NOON)
    sign_statement(organisation=barn, now=NOON)
    return logged


def inside(pdf):
    """The exported history that lies in a PDF."""
    [data] = pypdf.PdfReader(BytesIO(pdf)).attachments["history.json"]
    return data


WITHHELD_WORDS = {
    "with_owner": r"wren",
    "with_place": r"hollin|long shed",
    "with_notes": r"telephoned|looked at it|bill to",
    "with_files": r"rimcrack|" + PICTURE_DIGEST[:16],
    "with_prices": r"(?-i:Estimated cost)|[£€]\s?\d",
}
NOTES = {50: "telephoned", 20: "looked at it", PICTURED: "rimcrack"}  # days ago → what was written then
SCOPES = int(os.environ.get("LONGSTAND_SCOPES", "20"))


def at_random(seed):
    """What one link shows: each tick by chance, a period now and then."""
    chance = random.Random(seed)  # noqa: S311 - no secret
    scope = {name: chance.random() < 0.5 for name in WITHHELD_WORDS}
    period = (None, None)
    if chance.random() < 0.4:
        period = (chance.randint(30, 220), chance.randint(0, 29))
        scope |= {"first": ago(period[0]), "last": ago(period[1])}
    return scope, period


def hidden_words(scope, period):
    """Patterns that nothing of such a link may hold."""
    words = [pattern for name, pattern in WITHHELD_WORDS.items() if not scope[name]]
    first, last = period
    outside = [word for day, word in NOTES.items() if first and not last <= day <= first]
    return [*words, *outside]


@pytest.fixture
def pictured(proven, keeper, settings, tmp_path):
    """A photograph with an entry, and the car shown by it."""
    settings.MEDIA_ROOT = tmp_path
    entry = write(proven, keeper, "inspected", PICTURED, details={"ok": True})
    attach(entry, [Attached("Rimcrack.jpg", JPEG, PICTURE)])
    show_by(vehicle=proven, photograph=entry.attachments.get(), edit=Edit(keeper, NOON))
    chain_missing()
    return proven


def text_of(pdf):
    return " ".join(" ".join(page.extract_text().split()) for page in pypdf.PdfReader(BytesIO(pdf)).pages)


@pytest.mark.parametrize("seed", range(SCOPES))
def test_what_a_link_withholds_is_in_no_page_paper_comparison_or_picture(pictured, manager, seed):
    """Papers take long to set: of few scopes each fourth is set, of many each."""
    scope, period = at_random(seed)
    (_, url), (_, other) = share(pictured, manager, **scope), share(pictured, manager, **scope)
    told = {
        "page": read(url).content.decode(),
        "comparison": compare(url, other).content.decode(),
        "file": read(f"{url}file/").content.decode(),
    }
    pictures = 0
    if SCOPES > 20 or seed % 4 == 0:
        paper = read(f"{url}pdf/").content
        told["paper"] = text_of(paper)
        told["file in the paper"] = inside(paper).decode()
        pictures = sum(len(page.images) for page in pypdf.PdfReader(BytesIO(paper)).pages)
    words = hidden_words(scope, period)
    leaks = [
        (name, word) for name, text in told.items() for word in words if re.search(word, text, re.IGNORECASE)
    ]
    assert leaks == []
    shows = scope["with_files"] and "rimcrack" not in words
    file = pictured.photograph
    answer = read(f"{url}files/{file.pk}/")
    assert answer.status_code == (200 if shows else 404)
    assert (str(file.pk) in told["page"]) == shows
    assert pictures == 0 or shows


def test_a_link_without_photographs_verifies_without_the_digest_of_the_one_that_is_shown(pictured, manager):
    (_, shows), (_, withholds) = (share(pictured, manager, with_files=files) for files in (True, False))
    whole, part = (read(f"{url}file/").content for url in (shows, withholds))
    assert PICTURE_DIGEST in whole.decode()
    assert PICTURE_DIGEST not in part.decode()
    assert verify(part).faults == verify(whole).faults


def test_photographs_go_along_with_a_link_and_into_its_paper(pictured, manager):
    _, url = share(pictured, manager, with_files=True)
    page, file = body(url), pictured.photograph
    assert f"{url}files/{file.pk}/" in page
    assert "Rimcrack.jpg" in page
    answer = read(f"{url}files/{file.pk}/")
    assert (answer.content, answer["Content-Type"]) == (PICTURE, JPEG)
    assert answer["Content-Security-Policy"].startswith("sandbox")
    assert all(answer[name] for name in HEAD)
    paper = read(f"{url}pdf/").content
    assert sum(len(each.images) for each in pypdf.PdfReader(BytesIO(paper)).pages) >= 1
    assert "Rimcrack.jpg, with the entry of" in text_of(paper)
    verdict = verify(inside(paper), files=[("Rimcrack.jpg", answer.content)])
    assert "attachment" not in {fault.kind for fault in verdict.faults}
    assert any("at hand, each as it came with its entry: 1 of 1" in remark for remark in verdict.remarks)
    revoke_share(share=ShareLink.objects.latest("pk"), now=NOON)
    assert read(f"{url}files/{file.pk}/").status_code == 404


def test_a_photograph_whose_name_tells_what_is_withheld_stays_behind(proven, keeper, manager):
    entry = write(proven, keeper, "inspected", 3, details={"ok": True})
    attach(entry, [Attached("Mrs Wren.jpg", JPEG, PICTURE)])
    _, url = share(proven, manager, with_files=True)
    assert "1 photograph or document: ask whoever shared this" in as_shown(body(url))
    assert read(f"{url}files/{entry.attachments.get().pk}/").status_code == 404


@pytest.mark.parametrize("seed", range(SCOPES))
def test_what_a_link_withholds_is_in_no_file_and_the_rest_verifies_to_the_same_statements(
    proven, manager, seed
):
    scope, period = at_random(seed)
    _, url = share(proven, manager, **scope)
    file = read(f"{url}file/").content
    if seed == 0:
        assert read_json(inside(read(f"{url}pdf/").content))["links"] == read_json(file)["links"]
    whole = export_history(proven, now=NOON)
    verdict = verify(file, witnesses=[canonical(statement_file(Anchor.objects.get())), whole])
    assert verdict.faults == []
    statements = [anchor["statement"] for anchor in verdict.history["anchors"]]
    assert statements == [Anchor.objects.get().statement]
    for word in hidden_words(scope, period):
        assert not re.search(word, file.decode(), re.IGNORECASE), word
    moves = [entry["details"] for entry in verdict.history["entries"] if entry["kind"] == "moved"]
    assert all(("to_bay" in details) == scope["with_place"] for details in moves)
    if not all(scope[name] for name in ("with_owner", "with_place", "with_notes")):
        assert any(remark.startswith("Left out") for remark in verdict.remarks)


def test_an_entry_of_before_each_field_had_a_digest_goes_whole(proven, manager):
    history = read_json(export_history(proven, now=NOON))
    first = history["links"][2] | {"fields": {}}
    history["links"][2] = first
    left = within(history, Scope(place=True, notes=False, files=False), "")
    assert list(left["withheld"].values()) == ["note"]
    assert first["entry"] not in {entry["id"] for entry in left["entries"]}


def test_a_car_whose_own_name_is_withheld_has_no_file(proven, manager):
    proven.chassis_number = "WREN-1"
    proven.save()
    _, url = share(proven, manager)
    assert read(f"{url}file/").status_code == 404
    assert b"history.json" not in read(f"{url}pdf/").content


def test_the_pdf_keeps_to_the_same_scope(logged, manager):
    _, url = share(logged, manager)
    text = "".join(page.extract_text() for page in pypdf.PdfReader(BytesIO(read(f"{url}pdf/").content)).pages)
    assert "1962 Wendlow Twelve" in text
    assert not re.search(r"Wren|Long shed|Hollin", text, re.IGNORECASE)


# ends


def test_it_ends_by_itself(logged, manager):
    _, url = share(logged, manager, days=10)
    with time_machine.travel(NOON + timedelta(days=10, seconds=-1), tick=False):
        assert read(url).status_code == 200
    with time_machine.travel(NOON + timedelta(days=10), tick=False):
        assert read(url).status_code == 410


def test_it_is_ended_at_once_and_the_owner_sees_when(client_as, logged, manager, owner):
    made, url = share(logged, manager)
    end = reverse("share_end", args=[logged.pk, made.pk])
    assert client_as(owner).post(end).status_code == 302
    assert read(url).status_code == 410
    assert "ended Wed 25 Nov 2026" in client_as(owner).get(f"/cars/{logged.pk}/shares/").content.decode()
    with time_machine.travel(NOON + timedelta(days=1), tick=False):
        revoke_share(share=ShareLink.objects.get(pk=made.pk), now=NOON + timedelta(days=1))
    made.refresh_from_db()
    assert made.revoked_at == NOON, "ended twice, the first end stands"


def test_no_link_lasts_longer_than_a_year(logged, manager):
    with pytest.raises(ValidationError, match="a year at most"):
        make_share(
            vehicle=logged,
            by=manager,
            now=NOON,
            expires_at=NOON + LONGEST + timedelta(days=1),
            scope={"reader": "A buyer"},
        )


def test_a_period_stands_the_right_way_round(logged, manager):
    with pytest.raises(ValidationError, match="before"):
        share(logged, manager, first=ago(10), last=ago(20))


def test_a_link_closes_when_whoever_made_it_is_forgotten(client_as, logged, manager, owner):
    _, url = share(logged, owner)
    forget_person(person=owner, today=TODAY)
    assert read(url).status_code == 410
    assert (
        "whoever made it was forgotten"
        in client_as(manager).get(f"/cars/{logged.pk}/shares/").content.decode()
    )


def test_what_is_kept_about_a_person_for_them_holds_no_token(logged, owner):
    made, _ = share(logged, owner)
    assert made.token_digest not in str(about_person(owner))
    assert "A buyer" in str(about_person(owner))


# who opened it


def test_every_opening_is_listed_with_network_and_browser(client_as, logged, manager, owner):
    made, url = share(logged, manager)
    read(url, REMOTE_ADDR="203.0.113.77", HTTP_USER_AGENT="Browser of the buyer")
    read(f"{url}pdf/", REMOTE_ADDR="2001:db8:1:2::3")
    found = [(o.what, o.network) for o in ShareOpening.objects.filter(share=made).order_by("pk")]
    assert found == [("page", "203.0.113.0/24"), ("pdf", "2001:db8:1::/48")]
    html = client_as(owner).get(f"/cars/{logged.pk}/shares/").content.decode()
    for told in ("203.0.113.0/24", "Browser of the buyer", "taken as PDF", "Opened 2 times"):
        assert told in html
    assert "203.0.113.77" not in html


def test_what_is_refused_is_no_opening(logged, manager):
    made, url = share(logged, manager)
    revoke_share(share=made, now=NOON)
    read(url)
    assert not ShareOpening.objects.exists()


def test_a_browser_that_says_too_much_is_cut_short(logged, manager):
    made, url = share(logged, manager)
    assert read(url, HTTP_USER_AGENT="x" * 5000 + "\0").status_code == 200
    assert len(ShareOpening.objects.get(share=made).browser) == 200


# not too often


def test_one_network_cannot_read_without_end(logged, manager):
    _, url = share(logged, manager)
    statuses = [Client().head(url).status_code for _ in range(visitors.MOST_A_MINUTE + 2)]
    assert statuses[-2:] == [429, 429]
    assert statuses[0] == 200
    assert read(url, REMOTE_ADDR="203.0.113.9").status_code == 200, "others go on reading"
    with time_machine.travel(NOON + timedelta(minutes=1), tick=False):
        assert read(url).status_code == 200


def test_guessing_is_stopped_for_the_hour_even_where_the_guess_is_right(logged, manager):
    _, url = share(logged, manager)
    for number in range(visitors.MOST_MISSES_AN_HOUR):
        assert read(f"/shared/guess-{number}/").status_code == 404
    with time_machine.travel(NOON + timedelta(minutes=5), tick=False):
        assert read(url).status_code == 429
    with time_machine.travel(NOON + timedelta(hours=1), tick=False):
        assert read(url).status_code == 200


@pytest.mark.parametrize(
    ("address", "network"),
    [
        ("192.0.2.130", "192.0.2.0/24"),
        ("2001:db8:aaaa:bbbb::1", "2001:db8:aaaa::/48"),
        ("nonsense", ""),
        ("", ""),
    ],
)
def test_of_an_address_the_network_is_kept(address, network):
    assert visitors.network_of(address) == network


def test_behind_the_proxy_the_address_it_added_counts_and_not_what_the_visitor_claims(settings, rf):
    settings.ALLAUTH_TRUSTED_PROXY_COUNT = 1
    request = rf.get("/", REMOTE_ADDR="127.0.0.1", HTTP_X_FORWARDED_FOR="6.6.6.6, 203.0.113.5")
    assert visitors.address_of(request) == "203.0.113.5"
    settings.ALLAUTH_TRUSTED_PROXY_COUNT = 2
    assert visitors.address_of(request) == "6.6.6.6"
    settings.ALLAUTH_TRUSTED_PROXY_COUNT = 0
    assert visitors.address_of(request) == "127.0.0.1"


# who may share


def form(**changed):
    return {"reader": "A buyer", "ends": "2026-12-05", "with_notes": "on"} | changed


def test_a_link_is_shown_once_and_works(client_as, logged, owner):
    html = client_as(owner).post(f"/cars/{logged.pk}/shares/", form()).content.decode()
    address = re.search(r"http://testserver(/shared/[\w-]{43}/)", html)[1]
    assert read(address).status_code == 200
    assert "/shared/" not in client_as(owner).get(f"/cars/{logged.pk}/shares/").content.decode()
    made = ShareLink.objects.get()
    assert made.expires_at == datetime(2026, 12, 6, tzinfo=UTC), "the whole of its last day"
    assert (made.with_owner, made.with_place, made.with_prices, made.with_notes) == (
        False,
        False,
        False,
        True,
    )


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"reader": ""}, "reader"),
        ({"ends": "2026-11-24"}, "ends"),
        ({"ends": ""}, "ends"),
        ({"first": "2026-11-26"}, "first"),
    ],
)
def test_a_form_with_a_fault_makes_no_link(client_as, logged, owner, changed, field):
    answer = client_as(owner).post(f"/cars/{logged.pk}/shares/", form(**changed))
    assert field in answer.context["form"].errors
    assert not ShareLink.objects.exists()


@pytest.mark.parametrize(
    ("person", "status"), [("manager", 302), ("owner", 302), ("keeper", 403), ("outsider", 404)]
)
def test_who_may_end_a_link(client_as, request, logged, manager, person, status):
    made, url = share(logged, manager)
    client = client_as(request.getfixturevalue(person))
    assert client.get(reverse("share_end", args=[logged.pk, made.pk])).status_code == 405
    assert client.post(reverse("share_end", args=[logged.pk, made.pk])).status_code == status
    assert read(url).status_code == (410 if status == 302 else 200)


def test_a_link_of_another_car_is_not_ended_through_ones_own(
    client_as, logged, neighbour_car, manager, owner
):
    made, url = share(neighbour_car, manager)
    assert client_as(owner).post(reverse("share_end", args=[logged.pk, made.pk])).status_code == 404
    assert read(url).status_code == 200


# several links side by side


def compare(*urls):
    return Client().post(
        "/shared/compare/", {"links": "\n".join(f"https://barn.example{url}" for url in urls)}
    )


def test_two_links_stand_side_by_side_each_in_its_own_scope(logged, neighbour_car, keeper, manager):
    write(neighbour_car, keeper, "note", 5)
    urls = [share(logged, manager)[1], share(neighbour_car, manager, with_place=True)[1]]
    answer = compare(*urls)
    html = answer.content.decode()
    assert "1962 Wendlow Twelve" in html
    assert "1971" in html
    kept_by = next(
        row for section in answer.context["sections"] for row in section.rows if row.title == "Kept by"
    )
    assert kept_by.cells == (WITHHELD, "Hollin Barn")
    assert ShareOpening.objects.filter(what="compared").count() == 2
    assert "no-store" in answer["Cache-Control"]
    assert answer["Referrer-Policy"] == "same-origin", (
        "without it the browser names no origin and CSRF refuses"
    )


def test_an_ended_link_among_them_is_told(logged, neighbour_car, manager):
    made, url = share(neighbour_car, manager)
    revoke_share(share=made, now=NOON)
    assert compare(share(logged, manager)[1], url).status_code == 410


@pytest.mark.parametrize("count", [1, 7])
def test_two_to_six_links_are_compared(logged, manager, count):
    answer = compare(*(share(logged, manager)[1] for _ in range(count)))
    assert "links" in answer.context["form"].errors


# withheld names in free text


def test_a_name_inside_another_word_is_left_alone_and_every_part_of_a_name_goes(barn, car, keeper, manager):
    odd = Owner.objects.create(
        organisation=barn, name="Bo Storm (Jr.)", person=make_person("bo@hollin.example")
    )
    car.owner = odd
    car.save()
    write(car, keeper, "note", 9, note="Bo Storm (Jr.) came after the storm; brainstorming with STORM's son.")
    html = body(share(car, manager)[1])
    assert f"{WITHHELD} came after the {WITHHELD}; brainstorming with {WITHHELD}&#x27;s son." in html
