"""The phone's core is the shop's core: fold and gate give the same JSON in Python and in JavaScript."""

import os
from collections.abc import Callable

from hypothesis import given, settings
from playwright.sync_api import Page
from worlds import Seeded, World, worlds

from bayflow.job.canon import canon
from bayflow.job.events import ADDED, check
from bayflow.job.fold import fold
from bayflow.job.gate import STATES, gate
from bayflow.job.sheet import Index, split

CASES = int(os.environ.get("BAYFLOW_TWIN_CASES", "2000"))
FIRST = int(os.environ.get("BAYFLOW_TWIN_SEED", "0"))
BATCH = 100


def in_python(world: World) -> str:
    """Canonical JSON of state and gates, from the Python core."""
    index = Index(world.sheet)
    state = fold(index, world.events)
    return canon({"state": state, "gates": [gate(index, state, now) for now in world.nows]}).decode()


def test_thousands_of_random_jobs(in_browser: Callable[..., list[str]]) -> None:
    """2,000 random jobs (BAYFLOW_TWIN_CASES for more) read the same in both languages, and all states occur."""
    seen: dict[str, int] = {}
    for start in range(FIRST, FIRST + CASES, BATCH):
        worlds = [World(Seeded(seed), most_tasks=30, most_events=45) for seed in range(start, start + BATCH)]
        ours = [in_python(w) for w in worlds]
        theirs = in_browser([w.case() for w in worlds])
        for n, our in enumerate(ours):
            assert our == theirs[n], f"seed {start + n}"
            for name in STATES:
                seen[name] = seen.get(name, 0) + our.count(f'"state":"{name}"')
    assert {n: c for n, c in seen.items() if c < 20} == {}, "the random jobs no longer reach some states"


def test_followers_and_keys_are_the_same(core_page: Page) -> None:
    """What must be done again with each task of 100 random sheets, and what is a task key and what is not."""
    sheets = [World(Seeded(seed), most_events=0).sheet for seed in range(100)]
    theirs = core_page.evaluate(
        """(sheets) => JSON.parse(sheets).map((sheet) => {
          const index = core.makeIndex(sheet);
          return sheet.tasks.map((task) => core.followers(index, task.id));
        })""",
        canon(sheets).decode(),
    )
    assert theirs == [[Index(s).followers(t["id"]) for t in s["tasks"]] for s in sheets]
    assert core_page.evaluate("(texts) => texts.map(core.split)", KEYS) == [_split(k) for k in KEYS]
    assert core_page.evaluate("core.STATES") == list(STATES)


KEYS = [
    "a#1", "a##1", "a#b#12", "a\n#1", "\u2028#1", "a#1\n", "#1",
    "a#0", "a#01", "a#999", "a#1000", "a#", "a", "", "a#²", "a# 1", "a#+1",
]  # fmt: skip


def _split(text: str) -> list[str | int] | None:
    try:
        return list(split(text))
    except ValueError:
        return None


@settings(max_examples=60)
@given(world=worlds())
def test_random_jobs_that_shrink(in_browser: Callable[..., list[str]], world: World) -> None:
    """The same with hypothesis, which reduces a difference to its smallest job."""
    assert in_browser([world.case()]) == [in_python(world)]


def test_the_random_events_are_such_as_the_shop_would_store() -> None:
    """Every generated event passes the check, so that the comparison is about what can happen."""
    faults = [
        (why, e) for seed in range(100) for e in World(Seeded(seed)).events
        if (why := check({k: v for k, v in e.items() if k not in ADDED}))
    ]  # fmt: skip
    assert faults == []
