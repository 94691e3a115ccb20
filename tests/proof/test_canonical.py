"""The quicker way of writing plain values gives the bytes of RFC 8785 itself."""

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from collection.chain.canonical import canonical

TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
LEAVES = (
    st.none()
    | st.booleans()
    | st.integers(-(2**53) + 1, 2**53 - 1)
    | TEXT
    | st.floats(allow_nan=False, allow_infinity=False)
)
VALUES = st.recursive(
    LEAVES,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXT, inner, max_size=4),
    max_leaves=12,
)


@given(VALUES)
def test_every_value_is_written_as_the_standard_has_it(value):
    assert canonical(value) == rfc8785.dumps(value)


@pytest.mark.parametrize("value", [2**53, -(2**53), [2**60], {"a": float("nan")}, "\ud800", ["\ud800"]])
def test_what_json_cannot_say_is_refused_either_way(value):
    with pytest.raises(ValueError):  # noqa: PT011 - of whatever kind
        rfc8785.dumps(value)
    with pytest.raises(ValueError):  # noqa: PT011 - of whatever kind
        canonical(value)
