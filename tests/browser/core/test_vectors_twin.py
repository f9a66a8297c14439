"""The JavaScript core answers every conformance vector, and the vectors notice when a line of it is changed."""

import json
from typing import Any

import pytest
from playwright.sync_api import Page
from vectors import cases, differences

CASES = cases()

_ANSWER = """async ([base, cases]) => {
  const core = await import(base + "/js/core/index.js");
  return JSON.stringify(JSON.parse(cases).map(({sheet, events, now, followers}) => {
    const index = core.makeIndex(sheet);
    const state = core.fold(index, events);
    const again = Object.keys(followers).map((id) => [id, core.followers(index, id)]);
    return {state, gate: core.gate(index, state, now), followers: Object.fromEntries(again)};
  }));
}"""


def answers(page: Page, base: str = "") -> list[dict[str, Any]]:
    """What the JavaScript core under *base* says to every case."""
    found: list[dict[str, Any]] = json.loads(page.evaluate(_ANSWER, [base, json.dumps(CASES)]))
    return found


@pytest.fixture(scope="module")
def answered(core_page: Page) -> list[dict[str, Any]]:
    """The answers of the core as it is."""
    return answers(core_page)


@pytest.mark.parametrize("n", range(len(CASES)), ids=lambda n: CASES[n]["rule"])
def test_javascript_answers(answered: list[dict[str, Any]], n: int) -> None:
    """Gate, state and followers are what the rule says."""
    assert differences(CASES[n], answered[n]) == []
