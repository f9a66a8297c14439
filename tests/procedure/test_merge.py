"""Several procedures in one job: the order that the rules allow, what was moved and why, packages, misfit bodies."""

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small import procedure, texts

from bayflow.procedure.check import chain, fits
from bayflow.procedure.compiler import compile_sheet, with_included
from bayflow.procedure.library import Library, shipped
from bayflow.procedure.merge import summed

BOUND = "limits: {surface_temp: 10..30 °C, basis: test}"
FULL = [
    "arrival-full-inspection", "engine-bay", "interior", "wheels-and-arches", "strip-wash", "decontamination-and-clay",
    "glass", "layered-coating", "tyre-and-trim-dressing", "final-inspection-and-hand-over",
]  # fmt: skip


def named(name, steps, **more):
    """A small procedure of that name."""
    return procedure(steps, part=BOUND, **more).replace("procedure: job", f"procedure: {name}").encode()


def small(**procedures):
    """The small library with *procedures*, by name."""
    files = texts(procedure("- {step: nothing, do: Look at the car.}"))
    files |= {f"{name}.yaml": named(name, *told) for name, told in procedures.items()}
    return Library.of(files)


def graph(sheet):
    """The "before" of a sheet as a graph of networkx, built here from `after` and `since` alone."""
    made = nx.DiGraph()
    for task in sheet["tasks"]:
        made.add_node(task["id"])
        made.add_edges_from((first, task["id"]) for first in task["after"])
        made.add_edges_from((first, task["id"]) for hold in task["holds"] for first in hold["since"])
    return made


def first_of(sheet):
    """Where each part begins in the order that the phone proposes."""
    found = {}
    for n, task in enumerate(sheet["tasks"]):
        found.setdefault(task["part"], n)
    return found


def test_what_was_asked_for_later_is_moved_before_and_the_reason_is_told():
    """Wheels asked for after the wash come before it, bound task by task, and the rule that says so is named."""
    library = small(
        wash=("- {step: rinse, do: Rinse the car., traits: [rinse, water]}\n"
              "- {step: tools, do: Change the tools., traits: [tools-change]}\n"
              "- {step: wash, do: Wash the roof., each: panel, only: [roof], traits: [contact]}",),
        rims=("- {step: brush, do: Brush the wheel., each: corner, traits: [wheels]}\n"
              "- {step: change, do: Change the tools., traits: [tools-change]}",),
    )  # fmt: skip
    made = compile_sheet(library, ["wash", "rims"], "saloon")

    assert [str(fault) for fault in made.faults] == []
    assert [str(moved) for moved in made.moved] == [
        "'rims/work' comes before 'wash/work': "
        "brake dust and wheel cleaner splash on washed paint (wheels-before-paint)"
    ]
    assert nx.has_path(graph(made.sheet), "rims/brush@front-left", "wash/wash@roof")
    assert [part["id"] for part in made.sheet["parts"]] == ["rims/work", "wash/work"]


def test_what_is_asked_for_in_a_lawful_order_stays():
    """Nothing is moved, and nothing told, where the order asked for is lawful."""
    made = compile_sheet(shipped(), [*FULL[:1], *FULL[3:]], "saloon")

    assert made.moved == ()
    assert made.sheet["parts"][0]["id"].startswith("arrival")


@settings(max_examples=12, deadline=None)
@given(order=st.permutations(FULL))
def test_in_whatever_order_they_are_asked_for_the_job_keeps_every_rule(order):
    """Ten procedures, asked for in any order: no rule is broken, and the trade's landmarks come in their order."""
    made = compile_sheet(shipped(), order, "saloon")
    began = first_of(made.sheet)
    landmarks = [
        "arrival-full-inspection/identify", "engine-bay/engine", "wheels-and-arches/wheels", "strip-wash/pre-wash",
        "decontamination-and-clay/iron", "decontamination-and-clay/clay", "layered-coating/layer-one",
        "layered-coating/first-cure", "tyre-and-trim-dressing/tyres", "final-inspection-and-hand-over/final-inspection",
    ]  # fmt: skip

    assert [str(fault) for fault in made.faults] == []
    assert nx.is_directed_acyclic_graph(graph(made.sheet))
    assert [began[name] for name in landmarks] == sorted(began[name] for name in landmarks)
    assert began["interior/wet-work"] < began["layered-coating/layer-one"]


def test_the_cabin_need_not_wait_for_the_outside():
    """Cabin and outside are worked on beside one another, and the final look waits for both."""
    made = compile_sheet(
        shipped(),
        ["arrival-wash", "wheels-and-arches", "maintenance-wash", "interior", "final-inspection-and-hand-over"],
        "saloon",
    )
    ways = graph(made.sheet)
    wash, vacuum = "maintenance-wash/dry@car", "interior/vacuum@car"

    assert not nx.has_path(ways, wash, vacuum)
    assert not nx.has_path(ways, vacuum, wash)
    assert all(nx.has_path(ways, one, "final-inspection-and-hand-over/final-look@car") for one in (wash, vacuum))


def test_a_package_brings_what_it_includes_once():
    """Winter preparation holds its own parts and those of eight procedures, each of them once."""
    made = compile_sheet(shipped(), chain(shipped(), "winter-preparation"), "estate")
    parts = [part["id"] for part in made.sheet["parts"]]

    assert len(parts) == len(set(parts))
    assert {part.split("/")[0] for part in parts} == set(with_included(shipped(), "winter-preparation"))
    assert compile_sheet(shipped(), ["winter-preparation"], "estate").sheet["parts"] == made.sheet["parts"]
    assert parts.index("winter-preparation/underbody") < parts.index("wheels-and-arches/wheels")


def test_either_of_two_washes_prepares_a_wax():
    """`prepared_by: this or that`: either will do, none is a fault that names both."""
    first = ["arrival-wash", "wheels-and-arches"]

    assert compile_sheet(shipped(), [*first, "maintenance-wash", "wax-or-sealant"], "saloon").sheet
    assert compile_sheet(shipped(), ["arrival-wash", "rinseless-wash", "wax-or-sealant"], "saloon").sheet
    (fault,) = compile_sheet(shipped(), [*first, "wax-or-sealant"], "saloon").faults
    assert "by 'maintenance-wash' or 'strip-wash' or 'rinseless-wash' in the same job" in fault.what


def test_a_procedure_is_not_done_on_a_body_that_it_does_not_fit():
    """Dressing a motorcycle's tyres is refused with its reason; the check then asks nothing about it."""
    made = compile_sheet(shipped(), ["tyre-and-trim-dressing"], "motorcycle")

    assert made.sheet == {}
    assert any("is not done on a motorcycle (Dressing on a motorcycle tyre" in fault.what for fault in made.faults)
    assert not fits(shipped(), "winter-preparation", "motorcycle")
    assert fits(shipped(), "motorcycle-wash", "motorcycle")


@pytest.mark.parametrize(("key", "name"), [("includes", "wsh"), ("prepared_by", "wsh"), ("prepared_by", "wash or wsh")])
def test_a_procedure_that_is_not_there_is_named(key, name):
    """A slip in a name says what was probably meant, at its line."""
    library = small(wash=("- {step: rinse, do: Rinse the car., traits: [rinse]}",))
    files = texts(procedure("- {step: look, do: Look at the car.}", head=f"{key}: {name}\n"))
    files["wash.yaml"] = named("wash", "- {step: rinse, do: Rinse the car., traits: [rinse]}")
    (fault,) = [one for one in Library.of(files).check() if one.severity == "error"]

    assert "wash" in library.procedures
    assert (fault.line, fault.what) == (5, f"'{key}' names 'wsh', which is no procedure")
    assert "did you mean 'wash'?" in fault.would_be_right


def test_a_body_that_is_not_there_is_named():
    """`not_on` speaks of bodies of the library."""
    files = texts(procedure("- {step: look, do: Look at the car.}", head="not_on: {body: salon, because: Test.}\n"))

    assert ["'not_on' names 'salon', which is no body"] == [one.what for one in Library.of(files).check()]


def test_procedures_that_prepare_one_another_are_named():
    """Two procedures that each must come first end in a fault, never in a lost part."""
    files = texts(procedure("- {step: nothing, do: Look at the car.}"))
    files["a.yaml"] = named("a", "- {step: rinse, do: Rinse the car., traits: [rinse]}", head="prepared_by: [b]\n")
    files["b.yaml"] = named("b", "- {step: dry, do: Dry the car., traits: [dry]}", head="prepared_by: [a]\n")
    made = compile_sheet(Library.of(files), ["a", "b"], "saloon")

    assert [task["id"] for task in made.sheet["tasks"]] == ["a/rinse@car", "b/dry@car"]


def test_what_was_moved_is_told_once_for_each_pair():
    """Ten procedures asked for backwards: every pair that was turned is named once, with its gravest reason."""
    moved = compile_sheet(shipped(), FULL[::-1], "saloon").moved
    pairs = [(one.procedure, later) for one in summed(moved) for later in one.before]

    assert len(pairs) == len(set(pairs))
    assert set(pairs) == {(one.part.split("/")[0], one.before.split("/")[0]) for one in moved}
    assert {one.because for one in summed(moved)} <= {one.because for one in moved}
    assert len(summed(moved)) < len(moved)
