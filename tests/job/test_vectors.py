"""The Python core answers every conformance vector."""

from typing import Any

import pytest
from vectors import cases, differences

from bayflow.job.canon import fault
from bayflow.job.events import ADDED, check
from bayflow.job.fold import fold
from bayflow.job.gate import STATES, gate
from bayflow.job.sheet import Index

CASES = cases()


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["rule"])
def test_python_answers(case: dict[str, Any]) -> None:
    """Gate, state and followers are what the rule says."""
    index = Index(case["sheet"])
    state = fold(index, case["events"])
    answer = {
        "state": state,
        "gate": gate(index, state, case["now"]),
        "followers": {name: index.followers(name) for name in case["followers"]},
    }
    assert differences(case, answer) == []


def test_the_vectors_are_sound_and_speak_of_every_state() -> None:
    """Every event in them could be stored, every case expects something, and no state is left out."""
    for case in CASES:
        assert fault(case["sheet"]) is None
        noted = [{k: v for k, v in e.items() if k not in ADDED} for e in case["events"]]
        assert [why for e in noted for why in check(e)] == []
        assert case["gate"] or case["state"] or case["followers"], case["rule"]
    assert {a["state"] for case in CASES for a in case["gate"].values()} == set(STATES)
    assert len({case["rule"] for case in CASES}) == len(CASES)
