"""Machine minutes out of a log: what each signature says, worked out by hand beside each case."""

from typing import Any

from sheets import MINUTE, T0, arrived, event, sheet, task

from bayflow.job.fold import fold
from bayflow.job.machines import Spell, spells
from bayflow.job.sheet import Index

POLISHER = {"machine": "orbital-polisher", "labour_ms": 10 * MINUTE}


def found(made: dict[str, Any], *log: dict[str, Any]) -> list[tuple[str, str, int]]:
    """Person, kind and whole minutes of every spell."""
    index = Index(made)
    stored = [arrived(e, seq=n) for n, e in enumerate(log, 1)]
    got = spells(index, fold(index, stored), stored)
    assert all(isinstance(one, Spell) for one in got)
    return [(one.person, one.kind, one.ms // MINUTE) for one in got]


def test_work_begins_with_the_last_note_of_that_person() -> None:
    """Ana signs the roof at 0:30 and the bonnet at 0:42: 12 minutes of machine, whatever Ben noted in between."""
    made = sheet(task("wash@roof"), task("polish@bonnet", **POLISHER), task("look@roof", after=["wash@roof"]))
    log = (
        event("done", ["wash@roof"], person="ana", at=T0 + 30 * MINUTE),
        event("done", ["look@roof"], person="ben", at=T0 + 35 * MINUTE),
        event("done", ["polish@bonnet"], person="ana", at=T0 + 42 * MINUTE),
    )
    assert found(made, *log) == [("ana", "orbital-polisher", 12)]


def test_it_does_not_begin_before_the_step_could_be_begun() -> None:
    """Ana's last note is an hour old, but what comes before was signed by Ben 7 minutes ago: 7 minutes."""
    made = sheet(task("wash@roof"), task("tape@bonnet"), task("polish@bonnet", ["tape@bonnet"], **POLISHER))
    log = (
        event("done", ["wash@roof"], person="ana", at=T0),
        event("done", ["tape@bonnet"], person="ben", at=T0 + 60 * MINUTE),
        event("done", ["polish@bonnet"], person="ana", at=T0 + 67 * MINUTE),
    )
    assert found(made, *log) == [("ana", "orbital-polisher", 7)]


def test_a_lunch_without_a_note_counts_twice_the_minutes_at_most() -> None:
    """Three hours since the last note, 10 minutes in the procedure: 20 minutes."""
    made = sheet(task("wash@roof"), task("polish@bonnet", **POLISHER))
    log = (
        event("done", ["wash@roof"], person="ana", at=T0),
        event("done", ["polish@bonnet"], person="ana", at=T0 + 180 * MINUTE),
    )
    assert found(made, *log) == [("ana", "orbital-polisher", 20)]


def test_a_late_entry_and_a_first_note_count_the_procedures_minutes() -> None:
    """Nothing says how long it took."""
    made = sheet(task("polish@bonnet", **POLISHER), task("polish@roof", **POLISHER))
    late = event("done", ["polish@roof"], person="ana", at=T0 + 300 * MINUTE, happened=T0 + 100 * MINUTE)
    assert found(made, event("done", ["polish@bonnet"], person="ben", at=T0), late) == [
        ("ben", "orbital-polisher", 10), ("ana", "orbital-polisher", 10),
    ]  # fmt: skip


def test_what_is_signed_together_shares_the_time_by_its_minutes() -> None:
    """10 minutes of machine and 5 of wiping, signed together 12 minutes after the last note: 8 of machine."""
    made = sheet(
        task("wash@roof"), task("polish@bonnet", group="polish@bonnet", **POLISHER),
        task("wipe@bonnet", group="polish@bonnet", labour_ms=5 * MINUTE),
    )  # fmt: skip
    log = (
        event("done", ["wash@roof"], person="ana", at=T0),
        event("done", ["polish@bonnet", "wipe@bonnet"], person="ana", at=T0 + 12 * MINUTE),
    )
    assert found(made, *log) == [("ana", "orbital-polisher", 8)]


def test_a_sheet_without_machines_has_none() -> None:
    """Old sheets do not even have the field."""
    assert found(sheet(task("wash@roof")), event("done", ["wash@roof"], at=T0)) == []
