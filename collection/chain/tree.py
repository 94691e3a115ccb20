"""One digest over many, with a short proof for each: the Merkle tree of RFC 9162, section 2.1.

It lets one signed line a day stand for every car, and one car's file prove its place under that
line without showing any other car.
"""

from collections.abc import Sequence
from hashlib import sha256


def leaf_digest(leaf: bytes) -> bytes:
    """RFC 9162, 2.1.1: a leaf is hashed behind a zero byte, so that no leaf can pass for a node."""
    return sha256(b"\x00" + leaf).digest()


def node_digest(left: bytes, right: bytes) -> bytes:
    """RFC 9162, 2.1.1: a node is hashed behind a one byte."""
    return sha256(b"\x01" + left + right).digest()


def grow(leaves: Sequence[bytes]) -> tuple[bytes, list[list[bytes]]]:
    """Root and, for each leaf, its proof from the leaf upwards."""
    if not leaves:
        return sha256(b"").digest(), []
    if len(leaves) == 1:
        return leaf_digest(leaves[0]), [[]]
    split = 1 << (len(leaves) - 1).bit_length() - 1  # the largest power of two below the count
    left, left_proofs = grow(leaves[:split])
    right, right_proofs = grow(leaves[split:])
    proofs = [[*proof, right] for proof in left_proofs] + [[*proof, left] for proof in right_proofs]
    return node_digest(left, right), proofs


def root_from(leaf: bytes, place: int, size: int, proof: Sequence[bytes]) -> bytes | None:
    """The root that a leaf at a place (from 0) of ``size`` leaves leads to; None if the proof cannot fit.

    RFC 9162, 2.1.3.2.
    """
    if not 0 <= place < size:
        return None
    at, last, root = place, size - 1, leaf_digest(leaf)
    for sibling in proof:
        if last == 0:
            return None
        if at & 1 or at == last:
            root = node_digest(sibling, root)
            while not at & 1 and at:
                at, last = at >> 1, last >> 1
        else:
            root = node_digest(root, sibling)
        at, last = at >> 1, last >> 1
    return root if last == 0 else None
