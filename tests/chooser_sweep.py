"""Every job that the chooser can propose, for any car and day: compiled and rehearsed on every body. Run by hand:

    python tests/chooser_sweep.py [CARDS [PROCESSES]]

Cases are each aim, all 2^17 sets of findings, each history and day below; sets for which the same entries speak are
asked once, and cases that lead to the same procedures are one job. What the chooser offers in the place of all others
is a job too. A job must compile without a fault, and two people must finish it, who work from 08:00 to 17:00.
CARDS of them (2400) are tried again on cars whose surfaces chance picks, single panels too: then a job may also be
refused, by a rule about a surface of that car, and by nothing else.
"""

import random
import sys
import time
from collections.abc import Iterable, Iterator
from itertools import combinations, product
from multiprocessing import Pool
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from bayflow.procedure.check import fits
from bayflow.procedure.choosing import choose
from bayflow.procedure.choosing_case import AIMS, FINDS, Case, Entry
from bayflow.procedure.choosing_entries import ENTRIES
from bayflow.procedure.combining import possible, together
from bayflow.procedure.compiler import compile_sheet
from bayflow.procedure.desk import Json
from bayflow.procedure.faults import errors
from bayflow.procedure.hours import Hours
from bayflow.procedure.library import shipped
from bayflow.procedure.rehearsal import rehearse

LIBRARY = shipped()
START = 1_784_016_000_000
"""Tuesday 14 July 2026, 08:00 UTC."""
HOURS = Hours.from_settings({
    "zone": "UTC", "staffed": {day: [["08:00", "17:00"]] for day in ("mon", "tue", "wed", "thu", "fri")},
})  # fmt: skip
HISTORIES: tuple[dict[str, Any], ...] = (
    {"jobs": 0}, {"jobs": 1}, {"jobs": 1, "card": {"hood": "soft-top-fabric"}},
    {"jobs": 1, "since": {"coat": 300, "wash": 200}, "card": {"protection": "coated"}},
    {"jobs": 1, "waits": {"first-wash": 3, "full-cure": 9}, "card": {"protection": "coated"}},
)  # fmt: skip
DAYS: tuple[dict[str, Any], ...] = ({}, {"indoors": False})
"""Of the day, frost, season and sun are to be minded; they propose and refuse nothing."""
NAMES = tuple(FINDS)
ALL = (1 << (1 << len(NAMES))) - 1
"""A set of sets of findings is a number: bit n is the set whose findings are the bits of n."""
Job = tuple[str, tuple[str, ...]]


class Asked(frozenset[str]):
    """Findings that remember which of them somebody asked for."""

    asked: set[str]

    def isdisjoint(self, other: Iterable[object]) -> bool:
        """As of any set; what is asked for is kept."""
        self.asked.update(map(str, other))
        return super().isdisjoint(other)


def with_finding(name: str) -> int:
    """All sets of findings that hold *name*: runs of 2^k noughts and ones, as long as there are sets."""
    run = 1 << NAMES.index(name)
    return ALL // ((1 << run) + 1) << run


HOLDING = {name: with_finding(name) for name in NAMES}


def true_of(entry: Entry, known: dict[str, Any]) -> int:
    """All sets of findings for which *entry* speaks, where all else is *known*: only what it asks for is tried."""
    asked: set[str] = set()
    before = None
    while before != asked:
        before, found = set(asked), 0
        for some in subsets(sorted(before)):
            finds = Asked(some)
            finds.asked = asked
            if entry.when(Case(**known, finds=finds)):
                within = ALL
                for name in before:
                    within &= HOLDING[name] if name in some else ALL ^ HOLDING[name]
                found |= within
    return found


def subsets(names: Iterable[str]) -> Iterator[frozenset[str]]:
    """Every set of *names*."""
    many = list(names)
    return (frozenset(some) for size in range(len(many) + 1) for some in combinations(many, size))


def alike(known: dict[str, Any]) -> list[int]:
    """All sets of findings, those together for which the same entries propose and refuse."""
    groups = [ALL]
    for entry in ENTRIES:
        if entry.kind != "mind":
            yes = true_of(entry, known)
            groups = [part for group in groups for part in (group & yes, group & ~yes) if part]
    return groups


def first_of(group: int) -> frozenset[str]:
    """One set of findings out of *group*."""
    number = (group & -group).bit_length() - 1
    return frozenset(name for n, name in enumerate(NAMES) if number >> n & 1)


def jobs() -> list[Job]:
    """Every distinct job: a body and the procedures, as the office would put them together."""
    return [(body, names) for bodies in bodies_alike() for names in jobs_on(bodies[0]) for body in bodies]


def bodies_alike() -> list[list[str]]:
    """Bodies, those together on which the same procedures are done."""
    found: dict[tuple[object, ...], list[str]] = {}
    for body in LIBRARY.bodies:
        on_it = (body == "motorcycle", *(fits(LIBRARY, name, body) for name in LIBRARY.procedures))
        found.setdefault(on_it, []).append(body)
    return list(found.values())


def jobs_on(body: str) -> list[tuple[str, ...]]:
    """The procedures of every distinct job of a car of *body*."""
    ready = [name for name in LIBRARY.procedures if fits(LIBRARY, name, body)]
    found: dict[tuple[str, ...], None] = {}
    seen = set()
    for aim, history, day in product(("", *AIMS), HISTORIES, DAYS):
        known = {"body": body, "aim": aim} | history | day
        for group in alike(known):
            chosen = choose(Case(**known, finds=first_of(group)), ready)
            mark = tuple(chosen.proposed), tuple(sorted(chosen.refused)), tuple(chosen.instead)
            if mark not in seen:
                seen.add(mark)
                wanted = [tuple(possible(LIBRARY, chosen).proposed), *((one,) for one in chosen.instead)]
                found.update((tuple(together(LIBRARY, names)), None) for names in wanted if names)
    return list(found)


def wrong(job: Job) -> list[str]:
    """What is wrong with one job; nothing if all is well."""
    body, names = job
    compiled = compile_sheet(LIBRARY, names, body)
    if faults := errors(compiled.faults):
        return [f"{body}: {', '.join(names)}: {fault}" for fault in faults]
    return unfinished(body, names, compiled.sheet)


def unfinished(body: str, names: tuple[str, ...], sheet: Json) -> list[str]:
    """Why two people do not come to the end of a job; nothing if they do."""
    walked = rehearse(sheet, start=START, people=2, hours=HOURS, zone="UTC")
    return [] if walked.complete else [f"{body}: {', '.join(names)}: {walked.fault}"]


def card(dice: random.Random, body: str) -> dict[str, str]:
    """Surfaces of one car: mostly usual ones, some not known, at times one panel that differs."""
    found: dict[str, str] = {}
    for slot in LIBRARY.matter.slots.values():
        names = [surface.id for surface in slot.surfaces]
        if dice.random() < 0.85:
            found[slot.id] = names[0] if dice.random() < 0.65 else dice.choice(names)
    if dice.random() < 0.3:
        paint = [surface.id for surface in LIBRARY.matter.slots["all"].surfaces]
        found[dice.choice(LIBRARY.bodies[body].panels).id] = dice.choice(paint)
    return found


def wrong_on(tried: tuple[int, Job]) -> list[str]:
    """What is wrong with one job on a car by chance; nothing if it can be done, or a surface refuses it."""
    number, (body, names) = tried
    surfaces = card(random.Random(number), body)
    compiled = compile_sheet(LIBRARY, names, body, card=surfaces)
    if faults := errors(compiled.faults):
        rules = {told.rule for told in compiled.told}
        odd = [fault for fault in faults if not any(f"({rule})" in fault.what for rule in rules)]
        return [f"{body}, {surfaces}: {', '.join(names)}: {fault}" for fault in odd]
    return unfinished(body, names, compiled.sheet)


def main() -> int:
    """Print what was tried and what is wrong; 1 if anything is."""
    begun = time.monotonic()
    count, *processes = [*map(int, sys.argv[1:]), *(2400,)[len(sys.argv) - 1 :]]
    every = jobs()
    print(f"{len(every)} jobs on {len(LIBRARY.bodies)} bodies, found in {time.monotonic() - begun:.0f} s", flush=True)
    some = list(enumerate(random.Random(1).sample(every, min(count, len(every)))))
    with Pool(*processes) as pool:
        bad = [line for lines in pool.imap_unordered(wrong_on, some, chunksize=8) for line in lines]
        print(f"{len(bad)} faults in {len(some)} of them with cards, {time.monotonic() - begun:.0f} s", flush=True)
        bad += [line for lines in pool.imap_unordered(wrong, every, chunksize=8) for line in lines]
    print("\n".join(sorted(bad)[:60]))
    print(f"{len(bad)} faults in all, {len(every)} jobs, {time.monotonic() - begun:.0f} s")
    return bool(bad)


if __name__ == "__main__":
    sys.exit(main())
