"""No page has a fault that axe can find, on the desk's screen or on a phone's; none scrolls sideways."""

import re
from uuid import UUID

import pytest

from collection import urls
from collection.care.core import evidence_kinds, trees
from collection.care.forms.registry import KIND_FORMS
from collection.help.contents import PAGES as HELP
from collection.life.duties import DUTY_TITLES
from tests.browser.conftest import DESK, PHONE, assert_no_fault, watch

WHOLE_COMMAND = True  # with its worker, which pages tell of
UUID_DIGITS = 32
VEHICLE = "SELECT id FROM collection_vehicle WHERE registration = '{}'"
RICH, POOR = (
    VEHICLE.format("KM 1091"),
    "SELECT id FROM collection_vehicle WHERE marque = 'Brackwater' AND year = 1950",
)
DORMANT = "SELECT id FROM collection_vehicle WHERE model = 'Falconet GT'"
PARTS = ("car", "battery", "fuel", "fluids", "tyres", "last")


def one(table, condition="1"):
    return f"SELECT id FROM collection_{table} WHERE {condition} ORDER BY id LIMIT 1"  # noqa: S608 - fixed words


ENTRY = (
    "SELECT e.id FROM collection_entry e JOIN collection_vehicle v ON v.id = e.vehicle_id"
    " WHERE v.registration = 'KM 1091' AND e.kind = 'charge' LIMIT 1"
)
FINDING = (
    "SELECT e.id FROM collection_entry e JOIN collection_vehicle v ON v.id = e.vehicle_id"
    " WHERE v.registration = 'KM 1091' AND e.details LIKE '%Coolant leak%' LIMIT 1"
)
EMPTY_BAY = one("bay", "id NOT IN (SELECT bay_id FROM collection_vehicle WHERE bay_id IS NOT NULL)")
OWN_DUTY = (
    "SELECT d.duty FROM collection_dutyrow d JOIN collection_vehicle v ON v.id = d.vehicle_id"
    " WHERE v.registration = 'KM 1091' AND d.title <> '' ORDER BY d.duty LIMIT 1"
)
IN_THE_WAY = (
    "SELECT v.id FROM collection_vehicle v JOIN collection_bay_blocked_by b ON b.from_bay_id = v.bay_id"
    " ORDER BY v.id LIMIT 1"
)
BUSY = "SELECT vehicle_id FROM collection_dutyrow WHERE due < date('now') AND hold = '' LIMIT 1"
# name of the address: its variants, each a path with the queries that fill it
PAGES = {
    "home": [("/", ())],
    "collection": [
        (f"/collection/{query}", ())
        for query in ("", "?view=tiles", "?sort=-battery&show=pressing", "?text=zeppelin")
    ],
    "find": [("/find/", ()), ("/find/?q=castellane", ()), ("/find/?q=w4", ()), ("/find/?q=zeppelin", ())],
    "timeline": [("/timeline/", ()), ("/timeline/?by=owner&work=fluids", ())],
    "setup": [("/setup/", ())],
    "histories": [("/histories/", ())],
    "due": [("/due/", ()), ("/due/?duty=charge&horizon=31", ())],
    "why": [(f"/cars/{{}}/why/{duty}/", (RICH,)) for duty in DUTY_TITLES]
    + [("/cars/{}/why/charge/", (POOR,))],
    "whatif": [("/what-if/", ()), ("/what-if/?cars=all&chemistry=&shelter=heated", ())],
    "worksheet": [("/worksheet/", ())],
    "worksheet_car": [("/worksheet/cars/{}/", (RICH,)), ("/worksheet/cars/{}/", (POOR,))],
    "found": [("/worksheet/cars/{}/found/", (RICH,))],
    "seen_to": [("/worksheet/cars/{}/seen-to/{}/", (RICH, FINDING))],
    "worksheet_recommission": [("/worksheet/cars/{}/recommission/", (car,)) for car in (DORMANT, RICH)],
    "worksheet_faults": [("/worksheet/cars/{}/faults/", (DORMANT,))],
    "worksheet_bay": [("/worksheet/bays/{}/", (EMPTY_BAY,))],
    "walk": [
        ("/worksheet/walk/{}/?row=A", (one("building"),)),
        ("/worksheet/walk/{}/?work=charge", (one("building"),)),
    ],
    "worksheet_scan": [("/worksheet/scan/", ())],
    "worksheet_offline": [("/worksheet/offline/", ())],
    "from_paper": [("/week/from-paper/", ())],
    "from_paper_car": [("/week/from-paper/{}/", (BUSY,))],
    "labels": [("/labels/", ())],
    "reminders": [("/me/reminders/", ())],
    "week": [("/week/", ()), ("/week/?person=2", ()), ("/week/?from=2031-01-06", ())],
    "choose": [("/week/choose/{}/charge/", (RICH,))],
    "outing": [("/cars/{}/outing/", (RICH,))],
    "ready": [("/cars/{}/ready/", (RICH,))],
    "calendar": [("/calendar/", ())],
    "floor_plan": [("/floor-plan/", ()), ("/floor-plan/?out={}", (IN_THE_WAY,))],
    "arrange": [("/places/buildings/{}/arrange/", (one("building"),))],
    "air": [("/air/", ())],
    "cars": [("/cars/", ()), ("/cars/?sort=-where", ())],
    "start_cars": [("/start/cars/", ()), ("/start/cars/?owners=several", ())],
    "car_new": [("/cars/new/", ())],
    "car": [("/cars/{}/", (RICH,)), ("/cars/{}/", (POOR,))],
    "car_remove": [("/cars/{}/remove/", (RICH,))],
    "car_rule": [("/cars/{}/rule/brake_fluid/", (RICH,))],
    "own_duty_new": [("/cars/{}/own/new/", (RICH,))],
    "own_duty": [("/cars/{}/own/{}/", (RICH, OWN_DUTY))],
    "own_duty_edit": [("/cars/{}/own/{}/edit/", (RICH, OWN_DUTY))],
    "own_rules": [("/limits/own/", ())],
    "kind_rule_new": [("/limits/own/kind/", ())],
    "kind_rule": [("/limits/own/kind/{}/", (one("kindrule"),))],
    "car_curves": [("/cars/{}/curves/", (RICH,))],
    "car_photographs": [("/cars/{}/photographs/", (RICH,)), ("/cars/{}/photographs/", (POOR,))],
    "car_edit": [(f"/cars/{{}}/edit/{part}/", (RICH,)) for part in PARTS],
    "history": [("/cars/{}/history/", (RICH,)), ("/cars/{}/history/", (POOR,))],
    "compare": [("/cars/compare/", ()), ("/cars/compare/?car={}&car={}", (RICH, POOR))],
    "shares": [("/cars/{}/shares/", (RICH,))],
    "hand_over": [("/cars/{}/hand-over/", (RICH,))],
    "handovers": [("/handovers/", ())],
    "car_arrive": [("/cars/arrive/", ())],
    "prices": [("/prices/", ())],
    "shared_compare": [("/shared/compare/", ())],
    "proof": [("/cars/{}/history/proof/", (RICH,)), ("/cars/{}/history/proof/", (POOR,))],
    "trust": [("/trust/", ())],
    "settings_proof": [("/trust/settings/{}/", (one("chain", "subject != ''"),))],
    "witnesses": [("/trust/witnesses/", ())],
    "countersign": [("/cars/{}/history/countersign/", (RICH,)), ("/cars/{}/history/countersign/", (POOR,))],
    "statement": [("/trust/statements/{}/", (one("anchor"),))],
    "log": [("/cars/{}/log/", (RICH,))],
    "look_over": [("/cars/{}/look-over/", (RICH,))],
    "log_kind": [(f"/cars/{{}}/log/{kind}/", (RICH,)) for kind in KIND_FORMS],
    "correct": [("/cars/{}/entries/{}/correct/", (RICH, ENTRY))],
    "places": [("/places/", ())],
    "site_new": [("/places/sites/new/", ())],
    "site_edit": [("/places/sites/{}/", (one("site"),))],
    "staff": [("/places/sites/{}/staff/", (one("site"),))],
    "building_new": [("/places/sites/{}/buildings/new/", (one("site"),))],
    "building_edit": [("/places/buildings/{}/", (one("building"),))],
    "bay_new": [("/places/buildings/{}/bays/new/", (one("building"),))],
    "bay_edit": [("/places/bays/{}/", (one("bay"),))],
    "climate_new": [("/places/climates/new/", ())],
    "climate_edit": [("/places/climates/{}/", (one("climate", "organisation_id IS NOT NULL"),))],
    "people": [("/people/", ())],
    "member_new": [("/people/members/new/", ())],
    "member_edit": [("/people/members/{}/", (one("membership", "role = 'staff'"),))],
    "owner_new": [("/people/owners/new/", ())],
    "owner_edit": [("/people/owners/{}/", (one("owner"),))],
    "operators": [("/operators/", ())],
    "organisations": [("/operators/organisations/", ())],
    "sign_ins": [("/operators/sign-ins/", ())],
    "sign_in_edit": [("/operators/sign-ins/{}/", (one("person"),))],
    "person_forget": [("/operators/sign-ins/{}/forget/", (one("person"),))],
    "private_showings": [("/places/keys/", ())],
    "owner_forget": [("/people/owners/{}/forget/", (one("owner"),))],
    "car_private": [("/cars/{}/private/", (RICH,))],
    "site_private": [("/places/sites/{}/private/", (one("site"),))],
    "me": [("/me/", ())],
    "tokens": [("/me/tokens/", ())],
    "webhooks": [("/webhooks/", ())],
    "api_docs": [("/api/docs/", ())],
    "usersessions_list": [("/me/sessions/", ())],
    "mfa_index": [("/me/second-factor/", ())],
    "mfa_list_webauthn": [("/me/second-factor/passkeys/", ())],
    "account_reauthenticate": [("/me/again/", ())],
    "account_logout": [("/sign-out/", ())],
    "loggers": [("/loggers/", ())],
    "sensors": [("/sensors/", ())],
    "sensor_new": [("/sensors/new/", ())],
    "logger_site": [("/loggers/sites/{}/", (one("site"),))],
    "logger_building": [("/loggers/buildings/{}/", (one("building"),))],
    "car_loggers": [("/cars/{}/loggers/", (RICH,))],
    "logger_file": [
        ("/loggers/files/{}/", (one("loggerfile", f"{where}_id IS NOT NULL"),))
        for where in ("site", "building", "vehicle")
    ],
    "limits": [("/limits/", ())],
    "recommissioning": [("/cars/{}/recommission/", (car,)) for car in (DORMANT, POOR, RICH)],
    "evidence_kinds": [("/cars/{}/recommission/evidence/", (DORMANT,))],
    "evidence_new": [(f"/cars/{{}}/recommission/evidence/{kind}/", (DORMANT,)) for kind in evidence_kinds()],
    "evidence_correct": [("/cars/{}/recommission/evidence-rows/{}/", (DORMANT, one("evidence")))],
    "recommission_outlook": [
        ("/cars/{}/recommission/outlook/", (DORMANT,)),
        ("/cars/{}/recommission/outlook/", (RICH,)),
    ],
    "recommission_look": [("/cars/{}/recommission/outlook/wiring/", (DORMANT,))],
    "recommission_hazards": [("/cars/{}/recommission/hazards/", (DORMANT,))],
    "recommission_case": [("/cars/{}/recommission/put-away/", (DORMANT,))],
    "recommission_plan": [
        ("/cars/{}/recommission/plan/", (DORMANT,)),
        ("/cars/{}/recommission/plan/", (RICH,)),
    ],
    "recommission_step": [
        (f"/cars/{{}}/recommission/plan/{check}/", (DORMANT,))
        for check in ("spark", "battery_load", "vacuum")
    ],
    "recommission_handbook": [("/cars/{}/recommission/handbook/", (DORMANT,))],
    "recommission_faults": [("/cars/{}/recommission/faults/", (DORMANT,))],
    "recommission_fault": [(f"/cars/{{}}/recommission/faults/{symptom}/", (DORMANT,)) for symptom in trees()],
    "recommission_test": [("/cars/{}/recommission/faults/cranks-no-spark/coil_minus/", (DORMANT,))],
    "recommission_report": [
        ("/cars/{}/recommission/report/", (DORMANT,)),
        ("/cars/{}/recommission/report/?as=before", (DORMANT,)),
    ],
    "recommission_end": [("/cars/{}/recommission/end/", (DORMANT,))],
    "system": [("/system/", ())],
    "installation": [("/installation/", ())],
    "spreadsheets": [("/spreadsheets/", ())],
    "help": [("/help/", ()), ("/help/?q=battery+charge", ()), ("/help/?q=zeppelin", ())],
    "help_page": [(f"/help/{slug}/", ()) for slug in HELP],
    "sign_in": [("/sign-in/", ())],
    "account_inactive": [("/sign-in/closed/", ())],
    "account_reset_password": [("/sign-in/forgotten/", ())],
    "account_reset_password_done": [("/sign-in/forgotten/sent/", ())],
    "account_reset_password_from_key": [("/sign-in/forgotten/1-stale/", ())],
    "account_reset_password_from_key_done": [("/sign-in/forgotten/done/", ())],
}
POST_ONLY = {"car_shown_by", "ready_end", "sign_out", "worksheet_entries", "share_end", "invitation_end"}
# read by programs, or as paper
NO_PAGES = {"openapi", "api_root", "api_unknown", "health", "service_worker", "manifest", "worksheet_paper"}
NO_PAGES |= {"calendar_feed"} | {
    pattern.name for pattern in urls.urlpatterns if (getattr(pattern, "name", "") or "").endswith("_as")
}
NO_PAGES |= {
    "sensor_readings",
    "sensor_end",
    "history_pdf",
    "recommission_report_pdf",
    "handover_file",
    "handover_receipt",  # of a barn that handed over no car there is none; tests/handover looks at it
    "own_receipt",
    "stamp",
    "shared_attachment",
    "shared_pdf",
    "shared_file",
}
MADE_FIRST = {"webhook", "invitation"}  # looked at below, after it is made
SENT_FIRST = {"spreadsheet", "spreadsheet_columns"}  # looked at by test_sheets.py, which sends tables
BY_LINK = {"shared"}  # looked at by test_shared.py, which makes a link first
# a second name of an address, a file to be saved, or a step that is looked at in test_signing_in.py
ELSEWHERE = {
    "start",  # of an empty installation, in test_start.py
    "account_login",
    "attachment",
    "thumbnail",
    "my_data",
    "member_data",
    "owner_data",
    "mfa_download_recovery_codes",
    "mfa_authenticate",
    "mfa_login_webauthn",
    "mfa_reauthenticate",
    "mfa_reauthenticate_webauthn",
    "mfa_activate_totp",
    "mfa_deactivate_totp",
    "mfa_view_recovery_codes",
    "mfa_generate_recovery_codes",
    "mfa_add_webauthn",
    "mfa_edit_webauthn",
    "mfa_remove_webauthn",
}
VARIANTS = [(path, queries) for variants in PAGES.values() for path, queries in variants]


def filled(kaldmere, path, queries):
    """The address with keys of the demo's own rows put in."""
    keys = [kaldmere.value(query) for query in queries]
    assert None not in keys, f"{path}: the demo has no such row"
    # SQLite keeps a UUID as 32 hexadecimal digits
    words = [str(UUID(k)) if isinstance(k, str) and len(k) == UUID_DIGITS else k for k in keys]
    return path.format(*words)


# what a programme says; pages say it in words
CODES = re.compile(
    r"\b[a-z]+_[a-z0-9_]+\b|(?<![\d.,])\b1 (?:days|weeks|months|years|hours|minutes|cars|entries|times)\b"
)
PROGRAMMES = ("/api/docs/", "/help/")  # these name what programmes send
PLAIN_WORDS = """() => {
  const main = document.querySelector("main").cloneNode(true);
  main.querySelectorAll("code, pre, textarea, script").forEach((part) => part.remove());
  return main.textContent;
}"""


def codes_on(page):
    return sorted(set(CODES.findall(page.evaluate(PLAIN_WORDS))))


def test_every_named_address_is_looked_at():
    names = {pattern.name for pattern in urls.urlpatterns if getattr(pattern, "name", None)}
    assert names - POST_ONLY - NO_PAGES - ELSEWHERE - BY_LINK - MADE_FIRST - SENT_FIRST == set(PAGES)


@pytest.fixture(scope="module")
def windows(chromium, kaldmere, signed_in):
    """A window of the manager and one of nobody: one for each address would cost as much as looking at it."""
    contexts = {
        role: chromium.new_context(base_url=kaldmere.address, viewport=DESK, storage_state=signed_in[role])
        for role in ("manager", None)
    }
    yield {role: watch(context.new_page()) for role, context in contexts.items()}
    for context in contexts.values():
        context.close()


@pytest.mark.parametrize(("path", "queries"), VARIANTS, ids=[path for path, _ in VARIANTS])
def test_a_page_has_no_fault_on_desk_or_phone(kaldmere, windows, path, queries):
    page = windows[None if path.startswith("/sign-in/") else "manager"]
    page.complaints.clear()
    page.set_viewport_size(DESK)
    answer = page.goto(filled(kaldmere, path, queries))
    assert answer.status == 200
    assert path.startswith(PROGRAMMES) or codes_on(page) == []
    for screen in (DESK, PHONE):
        page.set_viewport_size(screen)
        assert_no_fault(page, screen)
    assert page.complaints == []


def test_the_open_steps_of_a_worksheet_have_no_fault(kaldmere, open_as):
    page = open_as("staff", PHONE)
    page.goto(filled(kaldmere, "/worksheet/cars/{}/", (BUSY,)))
    page.evaluate("document.querySelectorAll('details').forEach(step => { step.open = true })")
    assert_no_fault(page, PHONE)


def test_a_webhook_and_a_token_just_made_have_no_fault(open_as):
    page = open_as("manager", PHONE)
    page.goto("/webhooks/")
    page.get_by_label("What it is for").fill("Board in the office")
    page.get_by_role("textbox", name="Address").fill("https://listener.example/longstand")
    page.get_by_role("button", name="Add the address").click()
    page.get_by_role("button", name="Send a test").click()
    assert page.get_by_text("a test", exact=True).is_visible()
    assert_no_fault(page, PHONE)
    page.get_by_role("button", name="End it for good").click()
    page.goto("/me/tokens/")
    page.get_by_label("What it is for").fill("Sheet for the office")
    page.get_by_label("Read the care log").check()
    page.get_by_role("button", name="Make the token").click()
    assert page.locator("code.link").is_visible()
    assert_no_fault(page, PHONE)


def test_keys_that_are_shown_have_no_fault(kaldmere, open_as):
    page = open_as("manager", PHONE)
    for path, query in (("/cars/{}/private/", RICH), ("/places/sites/{}/private/", one("site"))):
        page.goto(filled(kaldmere, path, (query,)))
        page.get_by_role("button", name="Show them").click()
        assert page.get_by_role("button", name="Save").is_visible()
        assert_no_fault(page, PHONE)
    page.goto("/places/keys/")
    assert_no_fault(page, PHONE)


def test_an_invitation_just_made_and_opened_has_no_fault(open_as):
    page = open_as("manager", PHONE)
    page.goto("/people/members/new/")
    page.get_by_label("E-mail address").fill("new@kaldmere.example")
    page.get_by_role("button", name="Invite").click()
    link = page.locator("code.link").inner_text()
    stranger = open_as(None, PHONE)
    stranger.goto(link)
    assert stranger.get_by_role("button", name="Join").is_visible()
    for each in (page, stranger):
        assert_no_fault(each, PHONE)
    page.goto("/people/")
    page.get_by_role("button", name="Withdraw").click()


@pytest.mark.parametrize("role", ["staff", "owner", "viewer"])
def test_the_first_page_has_no_fault_for_other_roles(open_as, role):
    page = open_as(role, PHONE)
    page.goto("/")
    assert_no_fault(page, PHONE)


def test_a_form_with_faults_has_no_fault_of_its_own(kaldmere, open_as):
    page = open_as("manager", PHONE)
    page.goto(filled(kaldmere, "/cars/{}/log/charge/", (RICH,)))
    page.get_by_label("Rested volts").fill("99")
    page.locator("form.at-car").evaluate("form => form.setAttribute('novalidate', '')")
    page.get_by_role("button", name="Log the charge").click()
    assert page.locator("[aria-invalid='true']").count() > 0
    assert_no_fault(page, PHONE)


@pytest.mark.parametrize("path", ["/collection/?view=tiles", "/due/", "/week/", "/system/"])
def test_a_dark_page_has_no_fault_either(open_as, path):
    page = open_as("manager", DESK)
    page.emulate_media(color_scheme="dark")
    page.goto(path)
    assert_no_fault(page, DESK)
