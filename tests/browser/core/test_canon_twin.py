"""canon and digest in the browser give the bytes and the hash that Python gives."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from playwright.sync_api import Page
from sheets import opened, sheet, task

from bayflow.job import canon

_texts = st.text(st.characters(exclude_categories=("Cs",)))
_keys = st.text(st.characters(min_codepoint=0, max_codepoint=127))
_whole = st.integers(-(2**53) + 1, 2**53 - 1)
plain = st.recursive(
    st.none() | st.booleans() | _whole | _texts,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(_keys, inner, max_size=4),
    max_leaves=20,
)


def both(page: Page, values: list[Any]) -> list[list[str]]:
    """[canonical text, digest] of each value, from the browser."""
    found: list[list[str]] = page.evaluate(
        "async (text) => Promise.all(JSON.parse(text).map(async (v) => [core.canon(v), await core.digest(v)]))",
        canon.canon(values).decode(),
    )
    return found


@settings(max_examples=60)
@given(st.lists(plain, min_size=10, max_size=30))
def test_canon_and_digest_are_the_same_in_both_languages(core_page: Page, values: list[Any]) -> None:
    """Any plain value has the same canonical bytes and hash in Python and JavaScript."""
    assert both(core_page, values) == [[canon.canon(v).decode(), canon.digest(v)] for v in values]


def test_a_sheet_and_an_event_hash_alike(core_page: Page) -> None:
    """What is hashed in earnest: a sheet and a stored event."""
    values = [sheet(task("wash"), task("spread@bonnet", after=["wash"])), opened()]
    assert [d for _, d in both(core_page, values)] == [canon.digest(v) for v in values]


ODD = ("1.5", "2**53", "NaN", "'\\ud800'", "undefined", "{'\\udfff': 1}", "() => 1", "[1e300]")


@pytest.mark.parametrize("odd", ODD)
def test_what_is_not_plain_is_refused(core_page: Page, odd: str) -> None:
    """Fractions, numbers beyond 2^53 and half characters have no canonical text here."""
    refused = f"() => {{ try {{ core.canon({odd}); return 'took it'; }} catch (e) {{ return e.constructor.name; }} }}"
    assert core_page.evaluate(refused) == "TypeError"
