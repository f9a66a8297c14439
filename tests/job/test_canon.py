"""Canonical JSON against the published standard's own library, and what may not enter it."""

import hashlib
from typing import Any

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from bayflow.job.canon import canon, digest, fault, text_fault

_texts = st.text(st.characters(exclude_categories=("Cs",)))
_keys = st.text(st.characters(max_codepoint=127))
_whole = st.integers(-(2**53) + 1, 2**53 - 1)
plain = st.recursive(
    st.none() | st.booleans() | _whole | _texts,
    lambda inner: st.lists(inner, max_size=5) | st.dictionaries(_keys, inner, max_size=5),
)
odd = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text() | st.binary() | st.just(object()),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.tuples(inner)
        | st.dictionaries(st.text() | st.integers() | st.none(), inner, max_size=4)
    ),
)


@given(plain)
def test_canonical_bytes_are_rfc_8785(value: Any) -> None:
    """The same bytes as the rfc8785 package, for whatever `fault` lets through."""
    assert fault(value) is None
    assert canon(value) == rfc8785.dumps(value)
    assert digest(value) == hashlib.sha256(rfc8785.dumps(value)).hexdigest()


@given(odd)
def test_what_has_no_fault_is_rfc_8785(value: Any) -> None:
    """Any object at all either has a fault in words or the standard's bytes; nothing raises."""
    why = fault(value)
    assert (why is None and canon(value) == rfc8785.dumps(value)) or (why and why.strip())


@pytest.mark.parametrize(
    ("value", "why"),
    [(1.0, "float"), (2**53, "2\\^53"), (-(2**53), "2\\^53"), ("\ud800", "surrogate"), ({"é": 1}, "ASCII"),
     ({1: 1}, "ASCII"), ((1,), "tuple"), ({"a": [{"b": "\udfff"}]}, "surrogate"), (b"", "bytes")],
)  # fmt: skip
def test_what_is_not_plain_is_told(value: Any, why: str) -> None:
    """Each fault is named."""
    with pytest.raises(AssertionError, match=why):
        assert fault(value) is None, fault(value)


def test_a_deep_nest_is_refused_before_it_overflows() -> None:
    """A list nested ten thousand times has a fault, not a stack overflow."""
    nest: list[Any] = []
    for _ in range(10_000):
        nest = [nest]
    assert fault(nest) == "nested too deep"


def test_half_a_character_is_told() -> None:
    """A lone surrogate cannot be written as UTF-8; a pair is one character."""
    assert text_fault("a\ud83e") == "text holds a lone surrogate (half a character)"
    assert text_fault("\U0001f9fd") is None
