"""Leaving parts out of a history so that what is left still verifies, to the same signed statements.

A field of an entry goes with its salt, so that nobody can guess it. An entry may be left out whole: its
digests stay, and the kind of thing that it was. Entries chained in the first form have no digest for a field,
so they go whole where one of their fields must. The keeper's name is salted in statements of the second form;
those of the first tell it in clear and go.
"""

from collections.abc import Collection, Mapping

from collection.chain.canonical import digest
from collection.chain.check_outside import STAMP
from collection.chain.links import Facts
from collection.chain.replay import BAY, RECORD
from collection.chain.statements import STATEMENT

WHOLE = None  # in place of the fields of an entry: all of it
DETAIL = "details."
TO_BAY = f"{DETAIL}to_bay"  # of a move: where the car stands since


def withhold(history: Facts, plan: Mapping[str, Collection[str] | None], *, keeper: bool = False) -> Facts:
    """The history without these fields of entries (by id; ``WHOLE``), and the keeper's name if ``keeper``."""
    salted = {link["entry"] for link in history["links"] if link["fields"]}
    gone = {entry: names for entry, names in plan.items() if names is WHOLE or names}
    whole = {entry for entry, names in gone.items() if names is WHOLE or entry not in salted}
    part = {entry: set(names or ()) for entry, names in gone.items() if entry not in whole}
    kinds = {entry["id"]: entry["kind"] for entry in history["entries"] if entry["id"] in whole}
    kept = {
        "entries": [
            _emptied(entry, part.get(entry["id"], set()))
            for entry in history["entries"]
            if entry["id"] not in whole
        ],
        "links": [_unsalted(link, whole, part.get(link["entry"], set())) for link in history["links"]],
        "withheld": history["withheld"] | kinds,
    }
    kept["record"] = {} if kept["withheld"] else _of_record(history, kept["links"])
    if keeper:
        kept |= {"kept_by": "", "anchors": _unnamed(history["anchors"])}
    return _seen(history | kept)


def _seen(history: Facts) -> Facts:
    """Without the stamps of statements that were left out."""
    here = {digest(anchor["statement"]) for anchor in history["anchors"]}
    seen = history.get("witnesses", [])
    stays = [each for each in seen if each["form"] != STAMP or each["statement"] in here]
    return history | ({"witnesses": stays} if "witnesses" in history else {})


def unknown_of_record(links: Collection[Facts]) -> set[str]:
    """The fields of the record of which the entries cannot tell all, since something was left out of them."""
    names = {
        name.removeprefix(DETAIL)
        for link in links
        for name, field in link.get("fields", {}).items()
        if field["salt"] is None and name.startswith(DETAIL)
    }
    return names | ({BAY} if TO_BAY.removeprefix(DETAIL) in names else set())


def is_in_part(history: Facts) -> bool:
    """Whether anything was left out."""
    salts = (field["salt"] for link in history["links"] for field in link.get("fields", {}).values())
    return bool(history.get("withheld")) or None in salts


def fields_of(entry: Facts) -> list[str]:
    """The fields of an entry that may be left out."""
    return ["note", "attachments", "readings", *(f"{DETAIL}{name}" for name in entry["details"])]


def value_of(entry: Facts, name: str) -> object:
    """What stands in one of them."""
    return entry["details"][name.removeprefix(DETAIL)] if name.startswith(DETAIL) else entry[name]


def tells_of_place(entry: Facts, name: str) -> bool:
    """Whether a field says in which bay the car stood."""
    bare = name.removeprefix(DETAIL)
    return name.startswith(DETAIL) and (
        bare.startswith(("to_bay", "from_bay")) or (entry["kind"] == RECORD and bare == BAY)
    )


def _emptied(entry: Facts, names: Collection[str]) -> Facts:
    details = {name: value for name, value in entry["details"].items() if f"{DETAIL}{name}" not in names}
    empty = {name: type(entry[name])() for name in names if not name.startswith(DETAIL)}
    return entry | empty | {"details": details}


def _unsalted(link: Facts, whole: Collection[str], names: Collection[str]) -> Facts:
    if link["entry"] in whole:
        names = link["fields"]
    return link | {
        "fields": {
            name: field | {"salt": None} if name in names else field for name, field in link["fields"].items()
        }
    }


def _of_record(history: Facts, links: Collection[Facts]) -> Facts:
    unknown = unknown_of_record(links)
    return {name: value for name, value in history["record"].items() if name not in unknown}


def _unnamed(anchors: Collection[Facts]) -> list[Facts]:
    return [anchor | {"named": None} for anchor in anchors if anchor["statement"]["form"] == STATEMENT]
