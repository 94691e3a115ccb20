"""Whether photographs and documents at hand are those that came with the entries."""

from collections.abc import Sequence
from hashlib import sha256

from collection.chain.links import Facts
from collection.chain.verdict import Fault


def check_files(history: Facts, files: Sequence[tuple[str, bytes]]) -> tuple[list[str], list[Fault]]:
    """How many are right, in words, and a fault for each that is not; ``files``: names and bytes."""
    if not files:
        return [], []
    place = {link["entry"]: link["seq"] for link in history["links"]}
    entries = history["entries"]
    named = [(file, place.get(entry["id"], 0)) for entry in entries for file in entry["attachments"]]
    digests = {file["digest"] for file, _ in named}
    of_name = {file["name"]: seq for file, seq in named}
    faults, right = [], set()
    for name, data in files:
        made = sha256(data).hexdigest()
        if made in digests:
            right.add(made)
        elif name in of_name:
            text = f"“{name}” is not the file that came with entry {of_name[name]}: its SHA-256 is {made}."
            faults.append(Fault("attachment", of_name[name], text))
        else:
            faults.append(Fault("attachment", 0, f"“{name}” is none that an entry names: SHA-256 {made}."))
    count = f"{len(right)} of {len(digests)}"
    return [f"Photographs and documents at hand, each as it came with its entry: {count}."], faults
