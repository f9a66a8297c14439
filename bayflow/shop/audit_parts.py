"""What an audit is made of: plain records that pages, prints and exports lay out. Times are ms UTC."""

from dataclasses import dataclass
from typing import Any

from bayflow.job.events import Event
from bayflow.job.findings import Finding
from bayflow.shop.jobs import Job


@dataclass(frozen=True, kw_only=True)
class Step:
    """One task attempt beside its plan. Times are ms UTC; `lo`/`hi` bound the true time where the log proves one.

    `how` is done, late, left-out, accepted, not-right or open; `photos` are hashes; `findings` are finding ids.
    """

    task: str
    part: str
    place: str
    words: str
    how: str
    planned: tuple[int, int] | None
    at: int | None
    lo: int | None
    hi: int | None
    person: str | None
    noted_by: str | None
    phone: str | None
    answer: str | None
    note: str
    event: str | None
    also: list[str]
    photos: list[str]
    batches: list[dict[str, str]]
    findings: list[str]


@dataclass(frozen=True, kw_only=True)
class HoldSpan:
    """One hold as it went: since the last task it counts from, its opening and shutting, and its end."""

    task: str
    hold: str
    kind: str
    basis: str
    since: int
    opens: int | None
    shuts: int | None
    ended: int | None
    verdict: str


@dataclass(frozen=True, kw_only=True)
class Measured:
    """One reading: its value in its unit, who took it, and the narrowest limits that any task puts on it."""

    reading: str
    subject: str
    at: int
    value: int
    raw: str
    person: str
    event: str
    least: int | None
    most: int | None
    inside: bool


@dataclass(frozen=True, kw_only=True)
class Amendment:
    """One field that was put right: the first value stays readable."""

    event: str
    of: str
    field: str
    old: Any
    new: Any
    reason: str
    person: str
    at: int


@dataclass(frozen=True, kw_only=True)
class Chain:
    """Whether the record is whole: `sealed` are the ledger's seals of this job, `fits` is False where one disagrees."""

    n: int
    head: str
    ledger_n: int
    ledger_head: str
    seals: list[dict[str, Any]]
    fits: bool


@dataclass(frozen=True, kw_only=True)
class Audit:
    """All of it."""

    job: Job
    steps: list[Step]
    holds: list[HoldSpan]
    readings: list[Measured]
    findings: list[Finding]
    decisions: list[Event]
    amendments: list[Amendment]
    damage: list[Event]
    photos: list[str]
    chain: Chain
    begins: int
    ends: int
