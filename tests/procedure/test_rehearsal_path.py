"""The rehearsal's times and its chain against worked examples, networkx, and jobs made at random."""

from datetime import date
from itertools import pairwise

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bayflow.procedure.hours import Hours
from bayflow.procedure.rehearsal import Rehearsal, rehearse, report
from bayflow.procedure.rehearsal.sums import held, slack
from tests.procedure.rehearsing import ZONE, at, hours, lawful
from tests.sheets import HOUR, MINUTE, SECOND, hold, sheet, task, task_id

START = at("2026-07-14 08:00")

# Western Hills Shopping Center, nine activities in weeks: Anderson, Sweeney, Williams, Quantitative Methods for
# Business, chapter "Project Scheduling: PERT/CPM" (earliest starts, critical path A-E-F-G-I of 26 weeks).
SHOPPING_CENTER = {
    "A": (5, "", 0), "B": (6, "", 0), "C": (4, "A", 5), "D": (3, "A", 5), "E": (1, "A", 5), "F": (4, "E", 6),
    "G": (14, "DF", 10), "H": (12, "BC", 9), "I": (2, "GH", 24),
}  # fmt: skip

# R. L. Graham, "Bounds on multiprocessing timing anomalies", SIAM J. Appl. Math. 17 (1969) 416–429, figures 1 to 5.
GRAHAM = {"1": 3, "2": 2, "3": 2, "4": 2, "5": 4, "6": 4, "7": 4, "8": 4, "9": 9}
GRAHAM_ORDER = {"9": ["1"], "5": ["4"], "6": ["4"], "7": ["4"], "8": ["4"]}


def walk(made: dict, people: int, shop: Hours | None = None) -> Rehearsal:
    """Rehearse from 14 July 2026 without a lead, day and night unless *shop* says otherwise."""
    shop = shop or Hours.always("Europe/Berlin")
    found = rehearse(made, start=START, people=people, hours=shop, zone=shop.zone, lead_present=False)
    lawful(found)
    return found


def steps(found: Rehearsal) -> list[str]:
    """Names of the steps on the chain."""
    return [found.works[link.work].step for link in found.chain if link.kind == "work"]


def test_the_shopping_center_takes_its_critical_path():
    """With hands enough and no closing every activity begins at its earliest start; the chain is A E F G I, 26 long."""
    made = sheet(*(task(n, list(firsts), labour_ms=d * HOUR) for n, (d, firsts, _) in SHOPPING_CENTER.items()))
    found = walk(made, people=9)
    begun = {w.step: (w.start - START) // HOUR for w in found.works}
    assert begun == {n: earliest for n, (_, _, earliest) in SHOPPING_CENTER.items()}
    assert steps(found) == ["A", "E", "F", "G", "I"]
    assert found.hand_over - START == 26 * HOUR


@pytest.mark.parametrize(
    ("people", "shorter", "free", "length"),
    [(3, 0, "", 12), (4, 0, "", 15), (3, 1, "", 13), (3, 0, "56", 16)],
    ids=["as it is", "one more person", "every step shorter", "two relations fewer"],
)
def test_more_hands_can_end_later(people, shorter, free, length):
    """
    Why "more people are never later" holds for no list rule: Graham's example, to the hour.

    First ready task in the sheet's order for the first free person is Graham's list scheduling; one more processor,
    shorter tasks or fewer relations make it later (12 → 15, 13, 16).
    """
    made = sheet(*(task(n, GRAHAM_ORDER.get(n, []) if n not in free else [], labour_ms=(d - shorter) * HOUR)
                   for n, d in GRAHAM.items()))  # fmt: skip
    assert walk(made, people).hand_over - START == length * HOUR


@st.composite
def graphs(draw: st.DrawFn) -> list[tuple[str, list[tuple[str, int]], int]]:
    """Steps in order: name, (earlier step, wait in minutes) pairs, labour in minutes."""
    count = draw(st.integers(1, 12))
    found = []
    for n in range(count):
        firsts = draw(st.lists(st.integers(0, n - 1), max_size=3, unique=True)) if n else []
        waits = [(f"s{f}", draw(st.sampled_from([0, 0, 7, 90]))) for f in firsts]
        found.append((f"s{n}", waits, draw(st.integers(1, 60))))
    return found


@given(graphs())
@settings(max_examples=60)
def test_without_hours_the_chain_is_the_longest_path(made):
    """Against networkx: hand-over is the longest path through labour and waits, and the chain adds up to it."""
    graph = nx.DiGraph()
    tasks = []
    for name, waits, labour in made:
        graph.add_edge(name, f"{name}!", weight=labour)
        for first, wait in waits:
            graph.add_edge(f"{first}!", name, weight=wait)
        holds = [hold(f"after-{first}", [first], wait * MINUTE) for first, wait in waits if wait]
        tasks.append(task(name, [first for first, _ in waits], labour_ms=labour * MINUTE, holds=holds))
    found = walk(sheet(*tasks), people=len(tasks))
    longest = nx.dag_longest_path_length(graph)
    assert found.hand_over - START == longest * MINUTE
    assert sum(link.end - link.start for link in found.chain) == longest * MINUTE
    assert {link.kind for link in found.chain} <= {"work", "hold"}
    names = steps(found)
    along = sum(graph[n][f"{n}!"]["weight"] for n in names)
    between = [graph.get_edge_data(f"{a}!", b) for a, b in pairwise(names)]
    assert None not in between
    assert along + sum(edge["weight"] for edge in between) == longest


@st.composite
def jobs(draw: st.DrawFn) -> dict:
    """Sheets of any shape: groups, holds that shut or don't, rescues, coats, checks by others, limits, release."""
    count = draw(st.integers(1, 9))
    lengths = st.sampled_from([0, 20 * SECOND, MINUTE, 10 * MINUTE, HOUR, 4 * HOUR])
    tasks: list[dict] = []
    for n in range(count):
        firsts = [f"s{f}" for f in draw(st.lists(st.integers(0, n - 1), max_size=2, unique=True))] if n else []
        rescue = bool(firsts) and draw(st.integers(0, 3)) == 0
        holds = []
        if firsts and (rescue or draw(st.booleans())):
            leasts = [30 * SECOND] if rescue else [None, 30 * SECOND, 30 * MINUTE, 5 * HOUR, 24 * HOUR]
            least = draw(st.sampled_from(leasts))
            width = draw(st.sampled_from([None, 2 * MINUTE, HOUR, 12 * HOUR, 48 * HOUR]))
            most = None if width is None else (least or 0) + width
            holds = [hold("wait", firsts[:1], least, most)]
        tasks.append(task(
            f"s{n}", firsts, labour_ms=draw(lengths), rescue=rescue, holds=holds, part=f"plain/part-{n // 3}",
            kind="verify" if firsts and not rescue and draw(st.integers(0, 4)) == 0 else "do",
            limits=draw(st.sampled_from([[], [{"reading": "surface_temp", "of": ["car"], "min": 80, "max": 350}]])),
        ))  # fmt: skip
        if tasks[-1]["kind"] == "verify":
            tasks[-1]["other_than"] = [task_id(f) for f in firsts]
        earlier = next((t for t in tasks if firsts and t["id"] == task_id(firsts[0])), None)
        if earlier and draw(st.integers(0, 5)) == 0 and "verify" not in (earlier["kind"], tasks[-1]["kind"]):
            tasks[-1]["group"] = earlier["group"]
    if draw(st.booleans()):
        tasks.append(task("release", [f"s{count - 1}"], kind="release", release="lead"))
    parts = [{"id": p, "title": f"{p}.title", "mode": draw(st.sampled_from(["steps", "coat"])), "walk": None}
             for p in dict.fromkeys(t["part"] for t in tasks)]  # fmt: skip
    return sheet(*tasks, parts=parts)


SHOPS = {
    "days": hours(), "with a noon": hours(["08:00", "12:00"], ["13:00", "17:00"]),
    "over midnight": hours(["22:00", "24:00"], ["00:00", "03:00"]),
    "seldom": hours(["09:00", "10:30"], days=("tue", "sat")), "always": Hours.always("Europe/Berlin"),
}  # fmt: skip


@given(jobs(), st.sampled_from(sorted(SHOPS)), st.integers(1, 3), st.integers(0, 7 * 24 * 60), st.booleans())
@settings(max_examples=80)
def test_any_job_ends_or_says_why_not(made, shop, people, minutes, lead):
    """Whatever the sheet: the gate's yes for each begin, nothing at once, hours kept, or a fault in words."""
    found = rehearse(made, start=START + minutes * MINUTE, people=people, hours=SHOPS[shop], zone="Europe/Berlin",
                     lead_present=lead)  # fmt: skip
    lawful(found)
    text = report(found)
    if found.fault:
        assert found.fault.code in {"too-late", "never", "too-long", "circle", "nobody-decides", "no-end"}
        assert "It can't be finished" in text
    else:
        long = {w.tasks for w in found.works if w.end - w.start > 2 * HOUR}  # no reading is valid for so long
        for finding in found.findings:
            task_of = finding["task"].rpartition("#")[0]
            unread = finding["code"] == "not-measured" and any(task_of in tasks for tasks in long)
            assert finding["code"] == "doer-checked" or unread, finding


def test_what_can_wait_and_who_holds_what_for_how_long():
    """Two panels of 60 min with a machine by two people; the cabin's 20 min can wait 40 of the 60 beside it."""
    made = sheet(
        task("polish@bonnet", part="plain/polish", machine="orbital-polisher", labour_ms=60 * MINUTE),
        task("polish@roof", part="plain/polish", machine="orbital-polisher", labour_ms=60 * MINUTE),
        task("cabin", part="plain/cabin", labour_ms=20 * MINUTE),
    )
    found = rehearse(made, start=at("2026-07-14 08:00"), people=2, hours=hours(), zone=ZONE)

    assert slack(made) == {"plain/polish": 0, "plain/cabin": 40 * MINUTE}
    assert held(found) == {
        (date(2026, 7, 14), "person-1"): {"orbital-polisher": 60 * MINUTE},
        (date(2026, 7, 14), "person-2"): {"orbital-polisher": 60 * MINUTE},
    }
    assert "2026-07-14, person 1: " in report(found)
