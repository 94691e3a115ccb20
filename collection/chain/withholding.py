"""Leaving fields out of a history so that what is left still verifies."""

from collections.abc import Collection

from collection.chain.links import Facts


def withheld(history: Facts, names: Collection[str]) -> Facts:
    """The history without these fields of its entries: their salts go too, so that nobody can guess them.

    Entries chained in the first form keep them: without one field nothing of them would verify.
    """
    salted = {link["entry"] for link in history["links"] if link["fields"]}
    entries = [_emptied(entry, names) if entry["id"] in salted else entry for entry in history["entries"]]
    links = [link | {"fields": _unsalted(link["fields"], names)} for link in history["links"]]
    return history | {"entries": entries, "links": links}


def _emptied(entry: Facts, names: Collection[str]) -> Facts:
    return entry | {name: type(entry[name])() for name in names}


def _unsalted(fields: Facts, names: Collection[str]) -> Facts:
    return {name: field | {"salt": None} if name in names else field for name, field in fields.items()}
