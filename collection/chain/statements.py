"""The signed statement of a day: which chains had grown, to where."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from collection.chain import tree
from collection.chain.canonical import canonical
from collection.chain.links import Facts, instant
from collection.chain.signing import public_key, sign

Head = tuple[str, int, str]  # chain, sequence number of its newest link, that link's digest


def leaf(chain: str, seq: int, head: str) -> bytes:
    """A chain's line in a statement, as it is hashed."""
    return canonical([chain, seq, head])


def make(  # a statement has that many parts; keywords only
    private: Ed25519PrivateKey,
    heads: Sequence[Head],
    *,
    by: str,
    number: int,
    since: datetime | None,
    at: datetime,
    previous: str,
) -> tuple[Facts, str, list[list[str]]]:
    """Statement, signature, and for each head its proof in hexadecimal digits.

    ``heads`` are the chains that grew since the statement before (``since``, ``previous``), so a
    chain that is not among them had not grown by ``at``.
    """
    root, proofs = tree.grow([leaf(*head) for head in heads])
    statement: Facts = {
        "form": "longstand-statement-1",
        "by": by,
        "number": number,
        "previous": previous,
        "since": instant(since) if since else None,
        "at": instant(at),
        "chains": len(heads),
        "root": root.hex(),
        "key": public_key(private),
    }
    return statement, sign(private, statement), [[step.hex() for step in proof] for proof in proofs]


def covers(statement: Facts, *, chain: str, seq: int, head: str, place: int, proof: Sequence[str]) -> bool:
    """Whether the statement's root stands over this head."""
    steps = [bytes.fromhex(step) for step in proof]
    root = tree.root_from(leaf(chain, seq, head), place, statement["chains"], steps)
    return root is not None and root == bytes.fromhex(statement["root"])


def holds(statement: Facts, heads: Sequence[Any]) -> bool:
    """Whether these are all the heads that the statement was made of, in its order."""
    root, _ = tree.grow([leaf(*head) for head in heads])
    return len(heads) == statement["chains"] and root == bytes.fromhex(statement["root"])
