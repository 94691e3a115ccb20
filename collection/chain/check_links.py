"""Whether the entries are those that were chained: none edited, taken out, put in or moved."""

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise

from collection.chain.links import (
    MEASURED,
    NOTHING_BEFORE,
    Facts,
    covering,
    entry_values,
    field_digest,
    link_digest,
    measured_digest,
    written_digest,
)
from collection.chain.verdict import Fault, name_of

WITHHELD = ("note", "attachments", MEASURED)  # what may be left out of a file beside details
MOST_TRIES = 50  # how many damaged links are tried at each other's places; more are called changed


def check_links(history: Facts) -> Iterator[Fault]:
    """Every fault of the chain and of what hangs on it."""
    links = sorted(history["links"], key=lambda link: int(link["seq"]))
    yield from _counted(links)
    yield from _in_order(history)
    yield from _joined(links)
    yield from _unharmed(history["chain"], links)
    yield from _entries(history["entries"], links, history.get("withheld", {}))


def _counted(links: list[Facts]) -> Iterator[Fault]:
    count = Counter(link["seq"] for link in links)
    for seq in range(1, len(links) + 1):
        if seq not in count:
            yield Fault("deleted", seq, f"Entry {seq} of the chain is missing.")
    for seq, times in count.items():
        if times > 1:
            yield Fault("inserted", seq, f"Number {seq} stands {times} times in the chain.")
        if not 1 <= seq <= len(links):
            yield Fault("inserted", seq, f"Number {seq} is beyond the {len(links)} links that there are.")


def _in_order(history: Facts) -> Iterator[Fault]:
    for before, after in pairwise(history["links"]):
        if after["seq"] < before["seq"]:
            yield Fault("reordered", after["seq"], f"Link {after['seq']} stands after link {before['seq']}.")
    place = {link["entry"]: link["seq"] for link in history["links"]}
    chained = [place[entry["id"]] for entry in history["entries"] if entry["id"] in place]
    for first, second in pairwise(chained):
        if second < first:
            yield Fault("reordered", second, f"Entry {second} stands after entry {first}.")


def _joined(links: list[Facts]) -> Iterator[Fault]:
    if links and links[0]["previous"] != NOTHING_BEFORE:
        yield Fault("deleted", links[0]["seq"], "Something stood before what is now the first link.")
    for before, after in pairwise(links):
        if after["previous"] != before["digest"]:
            text = f"Link {after['seq']} was not made on top of link {before['seq']} as it now stands."
            yield Fault("link", after["seq"], text)


def _unharmed(chain: str, links: list[Facts]) -> Iterator[Fault]:
    harmed = [link for link in links if link_digest(chain, link) != link["digest"]]
    places = [link["seq"] for link in harmed[:MOST_TRIES]]
    for link in harmed:
        home = next((seq for seq in places if link_digest(chain, link | {"seq": seq}) == link["digest"]), 0)
        if home:
            yield Fault("reordered", link["seq"], f"Link {link['seq']} stood at {home} when it was made.")
        else:
            yield Fault("link", link["seq"], f"Link {link['seq']} does not match its own digest.")


def _entries(entries: list[Facts], links: list[Facts], withheld: Facts) -> Iterator[Fault]:
    by_id = {entry["id"]: entry for entry in entries}
    written = {link["written"]: link["seq"] for link in links}
    strayed = [link for link in links if link.get("fields") and not _is_of(link, link["entry"])][:MOST_TRIES]
    for link in links:
        entry = by_id.get(link["entry"])
        if entry is None and link["entry"] in withheld:
            yield from _digests(link)
        elif entry is None:
            yield Fault("deleted", link["seq"], f"Entry {link['seq']} was taken out; its link is still here.")
        elif link.get("fields"):
            yield from _fields(entry, link, strayed)
        else:
            yield from _contents(entry, link, written)
    yield from _strangers(entries, links)


def _contents(entry: Facts, link: Facts, written: dict[str, int]) -> Iterator[Fault]:
    seq, made = link["seq"], written_digest(entry)
    if made != link["written"]:
        home = written.get(made)
        if home:
            yield Fault("reordered", seq, f"At {seq} stands what was chained at {home}: {name_of(entry)}.")
        else:
            yield Fault("edited", seq, f"Entry {seq} ({name_of(entry)}) was edited after it was chained.")
    if measured_digest(entry) != link["measured"]:
        yield Fault("readings", seq, f"The readings of entry {seq} ({name_of(entry)}) were changed.")


def _fields(entry: Facts, link: Facts, strayed: list[Facts]) -> Iterator[Fault]:
    """The same of a link of the second form, which knows each field by itself."""
    seq, fields, what = link["seq"], link["fields"], name_of(entry)
    yield from _digests(link)
    changed = changed_fields(entry, fields)
    if "id" in changed and (home := _home(entry, strayed)):
        yield Fault("reordered", seq, f"At {seq} stands what was chained at {home}: {what}.")
        return
    if MEASURED in changed:
        yield Fault("readings", seq, f"The readings of entry {seq} ({what}) were changed.")
    if others := [name.removeprefix("details.").replace("_", " ") for name in changed if name != MEASURED]:
        text = f"Entry {seq} ({what}) was edited after it was chained: {', '.join(others)}."
        yield Fault("edited", seq, text)


def _digests(link: Facts) -> Iterator[Fault]:
    """Whether the digests of an entry's fields are those that the link covers."""
    seq, fields = link["seq"], link.get("fields")
    covered = {"written": link["written"], "measured": link["measured"]}
    if fields and covering(link["entry"], fields) != covered:
        yield Fault("link", seq, f"The digests of the fields of entry {seq} were changed.")


def changed_fields(entry: Facts, fields: Facts) -> list[str]:
    """The fields of an entry that are not as they were chained; one that is withheld must be empty."""
    values = entry_values(entry)
    return [name for name in sorted(values.keys() | fields.keys()) if not _holds(name, values, fields)]


def _holds(name: str, values: Facts, fields: Facts) -> bool:
    kept = fields.get(name)
    if kept is None:
        return False
    if kept["salt"] is None:
        return (
            not values.get(name) if name in WITHHELD else name.startswith("details.") and name not in values
        )
    return name in values and field_digest(kept["salt"], name, values[name]) == kept["digest"]


def _is_of(link: Facts, entry: str) -> bool:
    return _holds("id", {"id": entry}, link["fields"])


def _home(entry: Facts, strayed: list[Facts]) -> int:
    """The number of the link under whose salts the entry is as it was chained; 0 where there is none."""
    return next((link["seq"] for link in strayed if not changed_fields(entry, link["fields"])), 0)


def _strangers(entries: list[Facts], links: list[Facts]) -> Iterator[Fault]:
    chained = Counter(link["entry"] for link in links)
    place = {link["entry"]: link["seq"] for link in links}
    for entry, times in chained.items():
        if times > 1:
            yield Fault("inserted", place[entry], f"The entry at {place[entry]} is chained {times} times.")
    seen: set[str] = set()
    for entry in entries:
        if entry["id"] in seen:
            yield Fault("inserted", place.get(entry["id"], 0), f"{name_of(entry)} stands twice.")
        elif entry["id"] not in chained:
            text = f"An entry was put in that the chain does not know: {name_of(entry)}."
            yield Fault("inserted", 0, text)
        seen.add(entry["id"])
