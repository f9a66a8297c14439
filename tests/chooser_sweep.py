"""Every job that the chooser proposes for any car and day: compiled and rehearsed on every body. Run by hand:

    python tests/chooser_sweep.py [FINDINGS [MORE]]

Cases are every aim, every set of up to FINDINGS findings (2) and MORE larger ones by chance (40), in and out of doors,
winter and summer, cold and warm, a new and a known car, coated or not. Cases that lead to the same procedures are one
job. What the chooser offers in the place of all others is a job too. A job must compile without a fault, and its
rehearsal must come to an end.
"""

import random
import sys
import time
from collections.abc import Iterator
from itertools import combinations, product
from multiprocessing import Pool
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from bayflow.procedure.check import fits
from bayflow.procedure.choosing import choose
from bayflow.procedure.choosing_case import AIMS, FINDS, Case
from bayflow.procedure.combining import possible, together
from bayflow.procedure.compiler import compile_sheet
from bayflow.procedure.faults import errors
from bayflow.procedure.hours import Hours
from bayflow.procedure.library import shipped
from bayflow.procedure.rehearsal import rehearse

LIBRARY = shipped()
START = 1_784_016_000_000
HISTORIES = ({"jobs": 0}, {"jobs": 1}, {"jobs": 1, "since": {"coat": 300, "wash": 200}, "card": {"all": "coated"}})
DAYS = ({"month": 6}, {"month": 12, "low_dc": 30, "indoors": False}, {"month": 12}, {"month": 6, "indoors": False})
Job = tuple[str, tuple[str, ...]]


def cases(body: str, most: int, more: int) -> Iterator[Case]:
    """Every case of a car of *body* with at most *most* findings, and of *more* larger sets of them."""
    dice = random.Random(1)
    finds = [frozenset(some) for size in range(most + 1) for some in combinations(FINDS, size)]
    finds += [frozenset(dice.sample(sorted(FINDS), dice.randint(most + 1, len(FINDS)))) for _ in range(more)]
    for aim, found, history, day in product(("", *AIMS), finds, HISTORIES, DAYS):
        yield Case(**({"body": body, "aim": aim, "finds": found} | history | day))


def jobs(most: int, more: int) -> list[Job]:
    """Every distinct job: a body and the procedures, as the office would put them together."""
    found: dict[Job, None] = {}
    for body in LIBRARY.bodies:
        ready = [name for name in LIBRARY.procedures if fits(LIBRARY, name, body)]
        seen = set()
        for case in cases(body, most, more):
            chosen = choose(case, ready)
            mark = tuple(chosen.proposed), tuple(sorted(chosen.refused)), tuple(chosen.instead)
            if mark in seen:
                continue
            seen.add(mark)
            wanted = [tuple(possible(LIBRARY, chosen).proposed), *((one,) for one in chosen.instead)]
            found.update(((body, tuple(together(LIBRARY, names))), None) for names in wanted if names)
    return list(found)


def wrong(job: Job) -> list[str]:
    """What is wrong with one job; nothing if all is well."""
    body, names = job
    compiled = compile_sheet(LIBRARY, names, body)
    if faults := errors(compiled.faults):
        return [f"{body}: {', '.join(names)}: {fault}" for fault in faults]
    walked = rehearse(compiled.sheet, start=START, hours=Hours.always("UTC"), zone="UTC")
    begun = {task for work in walked.works for task in work.tasks}
    left = [task["id"] for task in compiled.sheet["tasks"] if task["id"] not in begun]
    return [f"{body}: {', '.join(names)}: never begun: {', '.join(left)}"] if left else []


def main() -> int:
    """Print what was tried and what is wrong; 1 if anything is."""
    begun = time.monotonic()
    most, more = [*map(int, sys.argv[1:]), *(2, 40)[len(sys.argv) - 1 :]]
    every = jobs(most, more)
    print(f"{len(every)} jobs on {len(LIBRARY.bodies)} bodies, found in {time.monotonic() - begun:.0f} s", flush=True)
    with Pool() as pool:
        bad = [line for lines in pool.imap_unordered(wrong, every, chunksize=8) for line in lines]
    print("\n".join(sorted(bad)[:60]))
    print(f"{len(bad)} faults in {len(every)} jobs, {time.monotonic() - begun:.0f} s")
    return bool(bad)


if __name__ == "__main__":
    sys.exit(main())
