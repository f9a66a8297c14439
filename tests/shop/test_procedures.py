"""The shop's own procedures: copied once, approved, compiled."""

import pytest
from sheets import T0
from shops import revision_of

from bayflow import paths
from bayflow.shop import jobs, procedures, vehicles
from bayflow.shop.errors import Invalid, NotAllowed, NotFound, Refused

TWO_COATS = "two-coat-protection"
REVISION = revision_of(f"{TWO_COATS}.yaml")
OLD, NEW = f"revision: {REVISION}", f"revision: {REVISION + 1}"


def edit(shop, path, old, new):
    """Change a file of the shop's library as an owner would."""
    file = shop.library / path
    text = file.read_text("utf-8")
    assert old in text
    file.write_text(text.replace(old, new, 1), "utf-8")


def test_the_library_is_copied_once(shop, who):
    """A second start leaves the shop's own files alone."""
    (shop.library / "two-coat-protection.yaml").unlink()

    assert procedures.install(paths.LIBRARY, shop.library) is False
    assert TWO_COATS not in {f.id for f in procedures.files(shop)}


def test_a_job_needs_approved_files(shop, who, grey):
    """Until the owner has approved them, procedures, bodies and products open no job, and the refusal lists them."""
    with pytest.raises(Refused) as refused:
        jobs.open_job(shop, grey.id, [TWO_COATS], by=who["ana"], now=T0)
    assert any("two-coat-protection.yaml" in r and "not approved" in r for r in refused.value.reasons)
    assert any("saloon.yaml" in r for r in refused.value.reasons)

    procedures.approve_all(shop, tried_by=[who["ana"]], by=who["otto"], now=T0)
    job = jobs.open_job(shop, grey.id, [TWO_COATS], by=who["ana"], now=T0)

    assert job.id == "J-20260714-0001"
    assert {f.state for f in procedures.files(shop)} == {"approved"}


def test_only_an_owner_approves(shop, who):
    """A technician is told whom to ask."""
    with pytest.raises(NotAllowed, match="Otto"):
        procedures.approve_all(shop, tried_by=[], by=who["ana"], now=T0)


def test_a_changed_file_with_an_unchanged_revision_opens_no_job(shop, who, grey):
    """The refusal says which revision to write; with a new revision and approval the job opens."""
    procedures.approve_all(shop, tried_by=[], by=who["otto"], now=T0)
    edit(shop, f"{TWO_COATS}.yaml", OLD, f"{OLD} # a change")

    with pytest.raises(Refused, match=f"has changed but still says revision {REVISION}: set revision {REVISION + 1}"):
        jobs.open_job(shop, grey.id, [TWO_COATS], by=who["ana"], now=T0)
    with pytest.raises(Refused, match=f"set revision {REVISION + 1}"):
        procedures.approve(shop, f"{TWO_COATS}.yaml", tried_by=[], by=who["otto"], now=T0)

    edit(shop, f"{TWO_COATS}.yaml", f"{OLD} # a change", f"{NEW} # a change")
    procedures.approve(shop, f"{TWO_COATS}.yaml", tried_by=[who["ben"]], by=who["otto"], now=T0)
    job = jobs.open_job(shop, grey.id, [TWO_COATS], by=who["ana"], now=T0)
    assert job.sheet["procedures"][0]["revision"] == REVISION + 1


def test_a_running_job_keeps_its_sheet(shop, who, grey):
    """A new revision changes no job that was opened before."""
    procedures.approve_all(shop, tried_by=[], by=who["otto"], now=T0)
    job = jobs.open_job(shop, grey.id, [TWO_COATS], by=who["ana"], now=T0)
    edit(shop, f"{TWO_COATS}.yaml", OLD, NEW)
    shop.cache.jobs.clear()
    shop.cache.sheets.clear()

    assert jobs.load(shop, job.id).sheet == job.sheet


def test_a_broken_file_opens_no_job_and_names_its_line(shop, who, grey):
    """A fault is a sentence with file and line."""
    procedures.approve_all(shop, tried_by=[], by=who["otto"], now=T0)
    edit(shop, f"{TWO_COATS}.yaml", OLD, "revision: one")

    with pytest.raises(Invalid):
        jobs.open_job(shop, grey.id, [TWO_COATS], by=who["ana"], now=T0)
    assert any(f.startswith("two-coat-protection.yaml:") for f in procedures.faults(shop))


def test_unknown_things_are_named(shop, who, grey):
    """An unknown procedure, body, vehicle or file is said to be unknown."""
    procedures.approve_all(shop, tried_by=[], by=who["otto"], now=T0)
    barge = vehicles.add(shop, title="barge", body="barge", by=who["otto"], now=T0)

    with pytest.raises(Invalid, match="two-coat-protektion"):
        jobs.open_job(shop, grey.id, ["two-coat-protektion"], by=who["ana"], now=T0)
    with pytest.raises(Invalid, match="barge"):
        jobs.open_job(shop, barge.id, [TWO_COATS], by=who["ana"], now=T0)
    with pytest.raises(Invalid, match="at least one"):
        jobs.open_job(shop, grey.id, [], by=who["ana"], now=T0)
    with pytest.raises(NotFound):
        procedures.approve(shop, "none.yaml", tried_by=[], by=who["otto"], now=T0)
    with pytest.raises(NotFound):
        jobs.open_job(shop, "v-none", [TWO_COATS], by=who["ana"], now=T0)
