"""What was set for a site or an organisation, entry by entry, in plain words and the reader's units."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils import timezone
from django.utils.dates import MONTHS

from collection.due.core.prices import terms
from collection.life.core.choices import thresholds
from collection.models import Chain, SettingEntry, Shelter
from collection.web.units import Edge

OPENED = "written down as it stood; since when it is so was not noted then"
DEGREES = ("heated_to_c", "coldest_yard_c")
WORDS = {
    "heated_to_c": "heated to",
    "humidity_ceiling_pct": "humidity kept below, %",
    "walk_order": "walking order",
    "coldest_yard_c": "no yard work below",
    "behind": "bays in its way",
    "air": "air inside, measured",
    "files": "digest of the loggers’ files",
}


@dataclass(frozen=True)
class SettingLine:
    """One save: since when it is so, what changed as clauses, when and by whom it was written down."""

    since: tuple[date, ...]  # several only where it corrects what was so since different days
    changes: tuple[str, ...]
    months: tuple[str, ...]
    day: date
    by: str


def setting_lines(chain: Chain, edge: Edge) -> list[SettingLine]:
    """Every save of what is set, latest first."""
    names: dict[str, str] = {}
    lines = []
    for entry in chain.setting_entries.select_related("by").order_by("link__seq"):
        names |= _names(entry.facts)
        lines.append(_line(entry, names, edge))
    return lines[::-1]


def _line(entry: SettingEntry, names: Mapping[str, str], edge: Edge) -> SettingLine:
    by = str(entry.by) if entry.by else "this programme"
    written = timezone.localtime(entry.recorded_at).date()
    if entry.opening:
        return SettingLine((), (OPENED,), (), written, by)
    facts = {name: fact for name, fact in entry.facts.items() if isinstance(fact, dict)}
    of_months = sorted((name for name in facts if _is_month(name)), key=_in_the_year)
    others = [name for name in facts if not _is_month(name)]
    since = {date.fromisoformat(fact["since"]) for fact in facts.values() if fact["since"]}
    changes, months = (
        tuple(_change(name, facts[name], names, edge) for name in some) for some in (others, of_months)
    )
    return SettingLine(tuple(sorted(since)), changes, months, written, by)


def _is_month(name: str) -> bool:
    return name.rpartition(".")[2].isdigit()


def _in_the_year(name: str) -> tuple[str, int]:
    climate, _, month = name.rpartition(".")
    return climate, int(month)


def _names(facts: Mapping[str, Any]) -> dict[str, str]:
    """What buildings and bays are called, by their part of a name."""
    said = {name: fact["now"] or fact["was"] for name, fact in facts.items() if isinstance(fact, dict)}
    named = {name.removesuffix(".name"): text for name, text in said.items() if name.startswith("building.")}
    bays = {
        name.removesuffix(".row"): f"bay {row}{said.get(name.replace('.row', '.place'), '')}"
        for name, row in said.items()
        if name.startswith("bay.") and name.endswith(".row")
    }
    return {name: str(text) for name, text in named.items() if name.count(".") == 1} | bays


def _change(name: str, fact: Mapping[str, Any], names: Mapping[str, str], edge: Edge) -> str:
    was, now = (_said(name, fact[side], edge) for side in ("was", "now"))
    verb = "corrected" if "corrects" in fact else "changed"
    became = f"{verb} from {was} to {now}" if was and now else now or f"no longer {was}"
    return f"{_label(name, names)}: {became}"


def _label(name: str, names: Mapping[str, str]) -> str:
    kind, _, rest = name.partition(".")
    if kind == "threshold":
        code, _, column = rest.partition(".")
        label = next((term.label for term in thresholds() if term.name == code), code)
        return label if column == "value" else f"{label}, {column}"
    if kind == "batch":
        return f"table {_words(rest.rpartition('.')[2])}"
    if kind == "price":
        return next((term.label for term in terms() if term.name == rest), rest)
    part = ".".join(name.split(".")[:2])
    if part in names:
        return ", ".join([names[part], *map(_words, name.split(".")[2:])])
    return ", ".join(map(_words, name.split(".")))


def _words(part: str) -> str:
    return (
        str(MONTHS[int(part)])
        if part.isdigit() and int(part) in MONTHS
        else WORDS.get(part, part.replace("_", " "))
    )


def _said(name: str, value: Any, edge: Edge) -> str:
    """A value in words; empty where there is none."""
    column = name.rpartition(".")[2]
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if column in DEGREES:
        return edge.unit("°C").format(value)
    if column == "files":
        return f"{value[:16]}…"
    if column == "shelter":
        return str(dict(Shelter.choices).get(value, value)).partition(":")[0]
    if column.isdigit() and isinstance(value, str):
        *air, damp = map(float, value.split())
        degrees = edge.unit("°C")
        return f"{' / '.join(f'{degrees.from_si(one):.1f}' for one in air)} {degrees.name}, {damp:g} %"
    return f"{value:g}" if isinstance(value, float) else str(value)
