"""Whether the entries are those that were chained: none edited, taken out, put in or moved."""

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise

from collection.chain.links import NOTHING_BEFORE, Facts, link_digest, measured_digest, written_digest
from collection.chain.verdict import Fault, name_of

MOST_TRIES = 50  # how many damaged links are tried at each other's places; more are called changed


def check_links(history: Facts) -> Iterator[Fault]:
    """Every fault of the chain and of what hangs on it."""
    links = sorted(history["links"], key=lambda link: int(link["seq"]))
    yield from _counted(links)
    yield from _in_order(history)
    yield from _joined(links)
    yield from _unharmed(history["chain"], links)
    yield from _entries(history["entries"], links)


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


def _entries(entries: list[Facts], links: list[Facts]) -> Iterator[Fault]:
    found = {entry["id"]: entry for entry in entries}
    written = {link["written"]: link["seq"] for link in links}
    for link in links:
        entry = found.get(link["entry"])
        if entry is None:
            yield Fault("deleted", link["seq"], f"Entry {link['seq']} was taken out; its link is still here.")
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
