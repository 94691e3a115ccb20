"""Every address of the site as a stranger finds it: from the table of addresses, and its pages' forms."""

import re
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import quote

from django.conf import settings
from django.urls import URLPattern, URLResolver, get_resolver

from tests.people.test_permissions import ADDRESSES, addresses

LEFT_OUT = ("admin/",)  # Django's own pages, for whoever runs the installation
ARGUMENT = re.compile(r"<(?:(\w+):)?(\w+)>")
# what an argument of this name stands for, where the table of test_permissions does not say
WORDS_FOR = {"kind": "charge", "duty": "charge", "token": "token", "part": "car", "key": "key", "uidb36": "1"}


def patterns(resolver=None, before="", namespace=""):
    """(name, route) of every address, those of included tables too."""
    for pattern in (resolver or get_resolver()).url_patterns:
        route = before + str(pattern.pattern).lstrip("^")
        if route.startswith(LEFT_OUT):
            continue
        if isinstance(pattern, URLResolver):
            inner = f"{namespace}{pattern.namespace}:" if pattern.namespace else namespace
            yield from patterns(pattern, route, inner)
        elif isinstance(pattern, URLPattern):
            yield f"{namespace}{pattern.name or route}", route


def urls_of(name, route, rows, known):
    """The addresses of a name for rows that are there."""
    if name in known:
        return list(known[name])
    if name in ADDRESSES:
        return addresses(name, rows)
    return ["/" + ARGUMENT.sub(lambda found: str(_argument(*found.groups(), rows)), _plain(route))]


def _plain(route):
    """A route that is a regular expression, without its marks."""
    return re.sub(r"\(\?P<(\w+)>[^()]*\)", r"<\1>", route).replace("$", "").replace("\\", "").replace("?", "")


def _argument(converter, name, rows):
    if converter == "uuid":
        return rows["entry"].pk
    if converter == "int":
        return rows[name].pk if name in rows else rows["car"].pk
    return WORDS_FOR.get(name, name)


def twisted(route, values):
    """The address with each argument exchanged for a value as it comes."""
    rest = iter(values)
    return "/" + ARGUMENT.sub(
        lambda _: quote(next(rest).encode("utf-8", "surrogatepass"), safe=""), _plain(route)
    )


def count_of(route):
    """How many arguments an address has."""
    return len(ARGUMENT.findall(_plain(route)))


class Forms(HTMLParser):
    """The fields of all forms of a page that post: name → (kind, first values, choices)."""

    def __init__(self):
        super().__init__()
        self.forms, self.queries, self.here, self.select, self.area = {}, set(), None, None, None

    def handle_starttag(self, tag, attrs):
        said = dict(attrs)
        name = said.get("name")
        if tag == "form":
            self.here = {} if said.get("method", "get").lower() == "post" else None
            if self.here is not None:
                self.forms.setdefault(said.get("action", ""), {})
                self.here = self.forms[said.get("action", "")]
        elif tag == "option" and self.select is not None:
            self.select[2].append(said.get("value", ""))
            if "selected" in said:
                self.select[1].append(said.get("value", ""))
        elif name and tag in ("input", "select", "textarea", "button"):
            self._field(tag, name, said)

    def _field(self, tag, name, said):
        if self.here is None:
            self.queries.add(name)
            self.select = None
            return
        kind = said.get("type", "text") if tag == "input" else tag
        field = self.here.setdefault(name, (kind, [], []))
        if tag == "select":
            self.select = field
        elif tag == "textarea":
            self.area = field
        elif kind in ("radio", "checkbox"):
            field[2].append(said.get("value", "on"))
            if "checked" in said:
                field[1].append(said.get("value", "on"))
        elif kind != "file" and "value" in said:
            (field[2] if tag == "button" else field[1]).append(said["value"] or "")

    def handle_data(self, data):
        if self.area is not None:
            self.area[1].append(data)

    def handle_endtag(self, tag):
        if tag == "select":
            self.select = None
        elif tag == "textarea":
            self.area = None
        elif tag == "form":
            self.here = None


def forms_of(page):
    """Forms by the address that they go to ("" for the page itself), and names of questions in addresses."""
    reader = Forms()
    reader.feed(page)
    return reader.forms, reader.queries


def asked_names():
    """Every name that the code reads from an address, so that new ones are tried too."""
    said = re.compile(r"""GET(?:\.get|\.getlist)?[(\[]\s*["'](\w+)["']""")
    sources = Path(settings.BASE_DIR, "collection").rglob("*.py")
    return {name for file in sources for name in said.findall(file.read_text())}
