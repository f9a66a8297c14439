"""Opening a job on a car with surfaces: refused, opened by a named decider with a reason, and kept so in mid-job."""

from typing import Any

import pytest

from bayflow.shop import jobs, procedures, vehicles
from bayflow.shop.errors import Invalid, NotAllowed, Refused

P = "two-coat-protection"
RULES = (f"{P}:fresh-refinish", "refinish-still-dries")


def test_a_rule_is_opened_by_a_lead_with_a_reason_and_stays_open(shop: Any, who: Any, grey: Any, clock: Any) -> None:
    """Refused by name; a technician may not open it; without a reason nobody; then it is part of the record."""
    procedures.approve_all(shop, tried_by=[], by=who["otto"], now=clock())
    vehicles.change(shop, grey.id, surfaces={"all": "fresh-refinish"}, by=who["otto"], now=clock())
    first = jobs.Opened(RULES, who["lea"], "painter's release of 3 July seen")

    def opening(opened: jobs.Opened | None) -> jobs.Job:
        return jobs.open_job(shop, grey.id, [P], opened=opened, by=who["ana"], now=clock())

    with pytest.raises(Refused, match=r"not done on fresh refinish: .* or a lead's decision"):
        opening(None)
    with pytest.raises(NotAllowed):
        opening(jobs.Opened(RULES, who["ana"], "I saw it"))
    with pytest.raises(Invalid, match="say why"):
        opening(jobs.Opened(RULES, who["lea"], " "))
    job = opening(first)
    changed = jobs.change_work(shop, job.id, [P], approver=who["lea"], reason="looked again", now=clock())

    assert job.opened["data"]["opened_rules"] == list(RULES)
    assert job.opened["data"]["decider"] == who["lea"]
    assert {one["rule"] for one in changed.sheet["surfaces"]["told"] if one["outcome"] == "decided"} == set(RULES)
    assert changed.log[-1]["data"]["opened_rules"] == list(RULES)


def test_what_cannot_be_put_right_is_opened_by_nobody(shop: Any, who: Any, grey: Any, clock: Any) -> None:
    """An owner with a reason gets the same refusal."""
    vehicles.change(shop, grey.id, surfaces={"all": "matte-clear"}, by=who["otto"], now=clock())
    opened = jobs.Opened((f"{P}:matte-clear", "matte-coat"), who["otto"], "customer insists")

    with pytest.raises(Refused, match="nobody may open this rule"):
        jobs.open_job(shop, grey.id, [P], opened=opened, by=who["otto"], now=clock())
