"""Help says what is so: its links lead somewhere, what it names is there, and the other way round."""

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import get_commands, load_command_class
from django.urls import URLPattern, resolve

from collection.help.contents import CONTENTS, EXPLAINED_BY, PAGES
from collection.help.facts import explained_settings
from collection.help.texts import body
from collection.urls import urlpatterns
from collection.web.limits import LONGEST_S
from tests.help.operate import FILE, operate_text

ROOT = settings.BASE_DIR
FRAMES = {"contents.html", "page.html", "_search.html"}
VARIABLE = re.compile(r"LONGSTAND_[A-Z_]+[A-Z]")
EXAMPLE = (ROOT / ".env.example").read_text()
# Django's own and others' commands that the papers name too
OTHERS = {"runserver", "shell", "changepassword"}
# pages that only lead on, files, what is sent by a button, and Help itself
NOT_EXPLAINED = {
    "help",
    "help_page",
    "my_data",
    "member_data",
    "owner_data",
    "handover_file",
    "stamp",
    "own_receipt",
} | {
    "worksheet_entries",
    "share_end",
    "invitation_end",
    "ready_end",
    "worksheet_paper",
    "history_pdf",
    "recommission_report_pdf",
    "account_reauthenticate",
    "mfa_reauthenticate",
    "mfa_reauthenticate_webauthn",
    "mfa_download_recovery_codes",
}
each_page = pytest.mark.parametrize("page", PAGES.values(), ids=PAGES)


class Read(HTMLParser):
    """What a text holds: links, identifiers, headings, names that stand on other pages."""

    def __init__(self, html):
        super().__init__()
        self.links, self.ids, self.headings, self.names, self.naming = [], [], [], [], None
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        if tag == "a":
            self.links.append(given["href"])
        if "id" in given:
            self.ids.append(given["id"])
        if tag == "h2":
            self.headings.append(given.get("id"))
        if tag == "b":
            self.naming = []

    def handle_data(self, data):
        if self.naming is not None:
            self.naming.append(data)

    def handle_endtag(self, tag):
        if tag == "b":
            self.names.append(" ".join("".join(self.naming).split()))
            self.naming = None


def papers():
    """Every text that speaks to people: Help, the two papers, what lies beside the units."""
    for page in PAGES.values():
        yield page.slug, body(page)
    for path in (ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "fixtures/deploy").iterdir())):
        yield path.name, path.read_text()


def shown_elsewhere():
    """All that pages can show, with blanks and marks of templates evened out."""
    sources = [*(ROOT / "collection").rglob("*.py"), *(ROOT / "scheduler/vocabulary").glob("*.py")]
    sources += [path for path in (ROOT / "templates").rglob("*.html") if path.parent.name != "help"]
    return " ".join(" ".join(path.read_text() for path in sources).split())


def test_each_text_is_a_page_and_each_page_has_its_text():
    texts = {path.name for path in (ROOT / "templates/help").glob("*.html")} - FRAMES
    assert texts == {f"{slug}.html" for slug in PAGES}


def test_titles_are_told_apart():
    titles = [page.title for page in PAGES.values()]
    assert len(titles) == len(set(titles)) == sum(map(len, CONTENTS.values()))


@each_page
def test_every_section_can_be_linked_to(page):
    read = Read(body(page))
    assert None not in read.headings
    assert len(read.ids) == len(set(read.ids))


def test_every_link_leads_where_any_reader_may_go(client_as, viewer):
    client, ids = client_as(viewer), {page.slug: Read(body(page)).ids for page in PAGES.values()}
    for page in PAGES.values():
        for link in Read(body(page)).links:
            address, _, anchor = link.partition("#")
            assert client.get(address).status_code == 200, (page.slug, link)
            if anchor:
                assert anchor in ids[resolve(address).kwargs["slug"]], (page.slug, link)


def test_what_help_names_stands_on_a_page():
    shown = shown_elsewhere()
    named = {(page.slug, name) for page in PAGES.values() for name in Read(body(page)).names}
    assert named, "no name is marked: the pattern of this test no longer fits the texts"
    between = r"""[>"'“}}] ?{} ?[<"'”{{:]"""  # the whole text of an element, a label, a word between quotes
    lost = {(slug, name) for slug, name in named if not re.search(between.format(re.escape(name)), shown)}
    assert lost == set()


def test_the_longest_time_of_a_page_is_as_told():
    assert f"A page that takes {LONGEST_S:.0f} seconds is stopped" in " ".join(body(PAGES["trouble"]).split())


def test_every_setting_that_is_named_is_explained_and_the_other_way_round():
    known = set(VARIABLE.findall(EXAMPLE))
    explained = {name for setting in explained_settings(EXAMPLE) for name, _ in setting.variables}
    assert explained == set(re.findall(r"^#(LONGSTAND_\w+)=", EXAMPLE, re.MULTILINE)) == known
    assert all(len(setting.text) > 20 for setting in explained_settings(EXAMPLE))
    only_for_tests = {"LONGSTAND_KILLS", "LONGSTAND_FUZZ", "LONGSTAND_API_EXAMPLES"} | {
        "LONGSTAND_RESTORE_KILLS",
        "LONGSTAND_PAST_EVERY",
        "LONGSTAND_PAST_DAYS",
        "LONGSTAND_HOSTILE",
        "LONGSTAND_WALKS",
        "LONGSTAND_POSTGRESQL",
        "LONGSTAND_MACHINES",
        "LONGSTAND_ROWS",
        "LONGSTAND_SCOPES",
        "LONGSTAND_TAMPERINGS",
    }
    for name, text in papers():
        assert set(VARIABLE.findall(text)) - only_for_tests <= known, name
    assert explained <= set(VARIABLE.findall(body(PAGES["settings"])))


def test_every_command_that_is_named_is_there_with_its_options():
    ours = {name for name, app in get_commands().items() if app == "collection"}
    named = set()
    for where, text in papers():
        for name, rest in re.findall(r"manage\.py (\w+)([^\n<#;.,]*)", text):
            assert name in ours | OTHERS, (where, name)
            if name in ours:
                named.add(name)
                parser = load_command_class("collection", name).create_parser("manage.py", name)
                options = {option for action in parser._actions for option in action.option_strings}
                assert set(re.findall(r"--[a-z-]+", rest)) <= options, (where, name, rest)
    assert named == ours


def test_every_file_that_is_named_is_there():
    for where, text in papers():
        for path in re.findall(r"(?:fixtures|collection|scheduler|templates|tests)/[\w/.-]*\w", text):
            assert (ROOT / path).exists(), (where, path)


def test_every_page_of_the_site_is_explained():
    names = {pattern.name: pattern for pattern in urlpatterns if isinstance(pattern, URLPattern)}
    assert set(EXPLAINED_BY) <= set(names)
    pages = {name for name, pattern in names.items() if hasattr(pattern.callback, "capability")}
    lists = {name for name in pages if name.endswith("_as")}
    assert pages - lists - NOT_EXPLAINED - set(EXPLAINED_BY) == set()


def test_no_address_is_explained_twice():
    explained = [address for page in PAGES.values() for address in page.explains]
    assert len(explained) == len(set(explained))


def test_a_page_leads_to_the_help_that_explains_it(client_as, manager):
    page = client_as(manager).get("/due/").content.decode()
    assert page.count('href="/help/due/"') == 2  # above and below
    assert 'href="/help/"' in page
    other = client_as(manager).get("/help/due/").content.decode()
    assert 'aria-current="page"' in other


def test_help_is_the_same_for_every_reader(client_as, manager, owner, car):
    pages = [client_as(person).get("/help/programmes/").content.decode() for person in (manager, owner)]
    texts = [page.split('class="help-text"')[1].split("</main>")[0] for page in pages]
    assert texts[0] == texts[1]


def test_a_page_that_is_not_there_is_not_found(client_as, viewer):
    assert client_as(viewer).get("/help/nothing/").status_code == 404


def test_the_plain_file_says_what_the_pages_say():
    again = 'uv run manage.py shell -c "from tests.help.operate import write; write()"'
    assert Path(FILE).read_text() == operate_text(), f"write it anew: {again}"
