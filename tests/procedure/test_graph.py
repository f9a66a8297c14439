"""The relation "before", held against networkx, an independent library."""

import networkx as nx
from hypothesis import given
from hypothesis import strategies as st

from bayflow.procedure.graph import Precedence, longest


@st.composite
def graphs(draw, *, lawful=True):
    """Names and, for each, those before it; without cycles if *lawful*."""
    count = draw(st.integers(1, 9))
    names = [f"t{n}" for n in range(count)]
    pairs = [(a, b) for a in range(count) for b in range(count) if (a < b if lawful else a != b)]
    edges = draw(st.lists(st.sampled_from(pairs), max_size=24)) if pairs else []
    before = {name: {names[a] for a, b in edges if names[b] == name} for name in names}
    order = draw(st.permutations(names))
    return list(order), before


def as_networkx(names, before):
    graph = nx.DiGraph()
    graph.add_nodes_from(names)
    graph.add_edges_from((first, name) for name, firsts in before.items() for first in firsts)
    return graph


@given(graphs())
def test_the_closure_is_that_of_networkx(made):
    """`before` says what networkx.transitive_closure says."""
    names, before = made
    relation = Precedence(names, before)
    closure = nx.transitive_closure(as_networkx(names, before))

    assert {(a, b) for a in names for b in names if relation.before(a, b)} == set(closure.edges)


@given(graphs())
def test_the_reduction_is_that_of_networkx(made):
    """`reduced` keeps exactly the edges of networkx.transitive_reduction."""
    names, before = made
    relation = Precedence(names, before)
    reduced = {(first, name) for name in names for first in relation.reduced(name)}

    assert reduced == set(nx.transitive_reduction(as_networkx(names, before)).edges)


@given(graphs(lawful=False))
def test_a_cycle_is_found_exactly_when_there_is_one(made):
    """`cycle` is empty for a graph without cycles, and else a way round that really is in the graph."""
    names, before = made
    cycle = Precedence(names, before).cycle

    assert (cycle == ()) == nx.is_directed_acyclic_graph(as_networkx(names, before))
    for n, name in enumerate(cycle):
        assert cycle[n - 1] in before[name]


@given(graphs(), st.randoms(use_true_random=False))
def test_the_proposed_order_is_lawful_and_follows_the_ranks(made, random):
    """`orders` gives a topological order; with equal chances the smallest rank goes first, as networkx does it."""
    names, before = made
    rank = {name: (random.randrange(5), n) for n, name in enumerate(names)}
    expected = nx.lexicographical_topological_sort(as_networkx(names, before), key=rank.__getitem__)

    assert Precedence(names, before).orders(rank) == list(expected)


@given(graphs(), st.randoms(use_true_random=False))
def test_the_longest_wait_is_that_of_networkx(made, random):
    """The longest sum of waits from one task to another is networkx's longest path."""
    names, before = made
    graph = as_networkx(names, before)
    waits = {edge: random.randrange(1, 9) for edge in sorted(graph.edges)}
    nx.set_edge_attributes(graph, waits, "weight")
    firsts = {name: [(first, waits[first, name]) for first in before[name]] for name in names}
    order = list(nx.topological_sort(graph))
    found = longest(order, firsts, order[0])

    inside = graph.subgraph(nx.descendants(graph, order[0]) | {order[0]})
    for name in inside:
        ways = nx.all_simple_paths(inside, order[0], name)
        lengths = [sum(waits[edge] for edge in nx.utils.pairwise(way)) for way in ways]
        assert found[name] == max(lengths, default=0)
    assert set(found) == set(inside)
