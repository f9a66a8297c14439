"""The critical path against a published example, and against an independent graph library over random networks."""

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bayflow.trade.critical import Link, floats, path

# Western Hills shopping centre, nine activities in weeks: Anderson, Sweeney, Williams, Quantitative Methods
# for Business, project scheduling (public slides give the data, the end at 26 and the slacks of B, C and D).
DURATIONS = {"A": 5, "B": 6, "C": 4, "D": 3, "E": 1, "F": 4, "G": 14, "H": 12, "I": 2}
BEFORE = {"C": "A", "D": "A", "E": "A", "F": "E", "G": "DF", "H": "BC", "I": "GH"}
TABLE = {  # ES, EF, LS, LF, total, free
    "A": (0, 5, 0, 5, 0, 0), "B": (0, 6, 6, 12, 6, 3), "C": (5, 9, 8, 12, 3, 0), "D": (5, 8, 7, 10, 2, 2),
    "E": (5, 6, 5, 6, 0, 0), "F": (6, 10, 6, 10, 0, 0), "G": (10, 24, 10, 24, 0, 0), "H": (9, 21, 12, 24, 3, 3),
    "I": (24, 26, 24, 26, 0, 0),
}  # fmt: skip
LINKS = [Link(first=first, later=later) for later, firsts in BEFORE.items() for first in firsts]


def test_the_published_example() -> None:
    """Every figure of the table."""
    found = floats(DURATIONS, LINKS)

    assert {n: (t.es, t.ef, t.ls, t.lf, t.total, t.free) for n, t in found.items()} == TABLE
    assert path(found) == ["A", "E", "F", "G", "I"]


def test_a_wait_counts_like_work_that_nobody_does() -> None:
    """A coat of 60, set for 1440, a second of 60, beside 200 of interior: the interior can wait 1360."""
    found = floats({"one": 60, "two": 60, "cabin": 200}, [Link(first="one", later="two", lag=1440)])

    assert (found["two"].es, found["two"].ef) == (1500, 1560)
    assert (found["cabin"].total, found["one"].total) == (1360, 0)


def test_what_cannot_begin_before_a_moment_begins_then() -> None:
    """And what is before it can wait until then."""
    found = floats({"a": 10, "b": 5}, [Link(first="a", later="b")], {"b": 30})

    assert (found["b"].es, found["a"].total, found["a"].free) == (30, 20, 20)


NETWORKS = st.integers(1, 12).flatmap(
    lambda n: st.tuples(
        st.lists(st.integers(0, 50), min_size=n, max_size=n),
        st.lists(st.tuples(st.integers(0, n - 1), st.integers(0, n - 1), st.integers(0, 20)), max_size=20),
    )
)


@given(NETWORKS)
def test_against_networkx(network: tuple[list[int], list[tuple[int, int, int]]]) -> None:
    """The end is the longest path; a work's total float is what the longest path through it lacks of that."""
    took, pairs = network
    edges = {(a, b): lag for a, b, lag in pairs if a < b}
    graph = nx.DiGraph()
    graph.add_node("end")
    for n, ms in enumerate(took):
        graph.add_edge(f"{n} in", f"{n} out", weight=ms)
        graph.add_edge(f"{n} out", "end", weight=0)
        graph.add_edge("begin", f"{n} in", weight=0)
    for (a, b), lag in edges.items():
        graph.add_edge(f"{a} out", f"{b} in", weight=lag)
    found = floats({str(n): ms for n, ms in enumerate(took)},
                   [Link(first=str(a), later=str(b), lag=lag) for (a, b), lag in edges.items()])  # fmt: skip

    end = nx.dag_longest_path_length(graph)
    assert max(one.ef for one in found.values()) == end
    for n in range(len(took)):
        to = nx.dag_longest_path_length(graph.subgraph({f"{n} out"} | nx.ancestors(graph, f"{n} out")))
        after = nx.dag_longest_path_length(graph.subgraph({f"{n} out"} | nx.descendants(graph, f"{n} out")))
        assert found[str(n)].total == end - to - after
        assert 0 <= found[str(n)].free <= found[str(n)].total
    assert path(found)


def test_a_circle_and_a_negative_number_are_refused() -> None:
    """With what goes round."""
    ring = [Link(first=a, later=b) for a, b in ("ab", "bc", "ca")]
    with pytest.raises(ValueError, match="these wait for one another"):
        floats(dict.fromkeys("abc", 1), ring)
    with pytest.raises(ValueError, match="from 0"):
        floats({"a": -1}, [])
    assert floats({}, []) == {}
