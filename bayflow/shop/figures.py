"""Figures for the owner, worked out from finished jobs: how many went right the first time, how long parts take.

Jobs are counted, not people: nothing here says who.
"""

from dataclasses import dataclass

from bayflow.shop import jobs
from bayflow.shop.context import Shop
from bayflow.shop.jobs import Job
from bayflow.trade import charts, intervals

LAST = 200
"""So many finished jobs are looked at, the newest of them."""


@dataclass(frozen=True, kw_only=True)
class Pace:
    """One part of a procedure over many jobs: ms from its first signature to its last, oldest job first."""

    title: str
    took: tuple[int, ...]
    jobs: tuple[str, ...]
    chart: charts.Individuals | None
    run: charts.Run | None


@dataclass(frozen=True, kw_only=True)
class Figures:
    """`right` of `counted` finished jobs had no fault and no redo; the interval is None without a job."""

    counted: int
    right: int
    interval: intervals.Interval | None
    wilson: intervals.Interval | None
    paces: tuple[Pace, ...]


def figures(shop: Shop, lang: str = "en") -> Figures:
    """The figures of the last finished jobs that can be read."""
    rows = [row["job"] for row in jobs.finished(shop, LAST)]
    return figures_of(jobs.loaded(shop, reversed(rows)), lang)


def figures_of(found: list[Job], lang: str) -> Figures:
    """The figures of these jobs, oldest first."""
    right = sum(right_first_time(job) for job in found)
    count = len(found)
    return Figures(
        counted=count, right=right, interval=intervals.exact(right, count) if count else None,
        wilson=intervals.wilson(right, count) if count else None, paces=tuple(_paces(found, lang)),
    )  # fmt: skip


def right_first_time(job: Job) -> bool:
    """No step was found not right, by word or by answer, and none was done again."""
    for event in job.log:
        if event["type"] in ("not-right", "reopened"):
            return False
        answer = event["data"].get("answer") if event["type"] == "done" else None
        if answer and not all(_good(job, name, answer) for name in event["tasks"]):
            return False
    return True


def _good(job: Job, name: str, answer: str) -> bool:
    task = job.index.tasks.get(name.rpartition("#")[0])
    return task is None or all(c["ok"] for c in task["answer"] or [] if c["id"] == answer)


def _paces(found: list[Job], lang: str) -> list[Pace]:
    parts: dict[str, list[tuple[int, Job]]] = {}
    titles: dict[str, str] = {}
    for job in found:
        times: dict[str, list[int]] = {}
        for name, done in job.state["done"].items():
            task = job.index.tasks.get(name.rpartition("#")[0])
            if task is not None:
                times.setdefault(task["part"], []).append(done["t"])
        for part in job.sheet["parts"]:
            if len(times.get(part["id"], [])) > 1:
                parts.setdefault(part["id"], []).append((max(times[part["id"]]) - min(times[part["id"]]), job))
                titles[part["id"]] = job.text(part["title"], lang)
    return [_pace(titles[part], took) for part, took in parts.items()]


def _pace(title: str, took: list[tuple[int, Job]]) -> Pace:
    values = [ms for ms, _ in took]
    return Pace(
        title=title, took=tuple(values), jobs=tuple(job.id for _, job in took),
        chart=charts.individuals(values) if len(values) >= charts.FEWEST else None, run=charts.run(values),
    )  # fmt: skip
