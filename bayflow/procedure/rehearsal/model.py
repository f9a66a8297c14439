"""What a rehearsal found, as frozen records: plain numbers, ids, text keys. Sentences are made where they are shown."""

from dataclasses import asdict, dataclass, field
from typing import Any

from bayflow.job.events import Event
from bayflow.job.findings import Finding
from bayflow.job.sheet import Sheet
from bayflow.procedure.hours import Hours

Facts = dict[str, Any]


@dataclass(frozen=True)
class Note:
    """Something to say: a fixed code, and the ids and numbers that belong into the sentence."""

    code: str
    facts: Facts = field(default_factory=dict)


@dataclass(frozen=True)
class Cause:
    """One thing that a piece of work waited for: work `number` that ended, or the hold after it, over at `at` (ms)."""

    work: int
    at: int
    hold: str | None = None


@dataclass(frozen=True)
class Work:
    """
    What one person did in one go, from `start` to `end` (ms UTC).

    `kind` is do, check, measure, photo, verify, release, or reading where only readings were taken for `group`.
    `causes` are what it waited for by the gate; `held` says what else kept it (closing, wet, window, hands).
    """

    number: int
    kind: str
    group: str
    part: str
    step: str
    do: tuple[str, ...]
    tasks: tuple[str, ...]
    places: tuple[str, ...]
    person: str
    start: int
    end: int
    causes: tuple[Cause, ...] = ()
    held: str | None = None


@dataclass(frozen=True)
class Stay:
    """One hold as it ran: since when, when it opened and shut, and whether somebody was there at both moments."""

    hold: str
    kind: str
    task: str
    step: str
    place: str
    part: str
    since: tuple[str, ...]
    began: int
    opens: int | None
    shuts: int | None
    there_opens: bool | None
    there_shuts: bool | None
    taken: int | None
    signed: int | None
    rescue: bool


@dataclass(frozen=True)
class Link:
    """
    One piece of the chain that decides the hand-over; each begins where the one before it ends.

    `kind` is work, hold, closed (nobody there), tight (it no longer fitted before closing), held (a window ahead could
    not be kept) or hands (no hands free).
    """

    kind: str
    start: int
    end: int
    work: int | None = None
    group: str | None = None
    person: str | None = None
    hold: str | None = None


@dataclass(frozen=True)
class Rehearsal:
    """A job walked through in virtual time. `fault` says why it could not be finished; then `hand_over` is None."""

    sheet: Sheet
    zone: str
    hours: Hours
    start: int
    people: tuple[str, ...]
    works: tuple[Work, ...]
    stays: tuple[Stay, ...]
    notes: tuple[Note, ...]
    chain: tuple[Link, ...]
    fault: Note | None
    hand_over: int | None
    labour_ms: int
    readings: tuple[tuple[str, str, int], ...]
    findings: tuple[Finding, ...]
    events: tuple[Event, ...]

    @property
    def complete(self) -> bool:
        """Whether the job came to its end."""
        return self.fault is None

    @property
    def elapsed_ms(self) -> int | None:
        """From the moment that was asked for to the hand-over."""
        return None if self.hand_over is None else self.hand_over - self.start

    def as_json(self) -> Facts:
        """All of it as plain JSON, times in ms UTC; the words of every text key that occurs are beside it."""
        keys = {key for work in self.works for key in work.do} | {part["title"] for part in self.sheet["parts"]}
        keys |= {one["title"] for one in self.sheet["procedures"]} | {self.sheet["body"]["title"]}
        return {
            "procedures": [one["id"] for one in self.sheet["procedures"]], "body": self.sheet["body"]["id"],
            "zone": self.zone, "start": self.start, "people": list(self.people), "complete": self.complete,
            "hand_over": self.hand_over, "elapsed_ms": self.elapsed_ms, "labour_ms": self.labour_ms,
            "fault": asdict(self.fault) if self.fault else None,
            "parts": [{"id": part["id"], "title": part["title"]} for part in self.sheet["parts"]],
            "works": [_plain(work) for work in self.works], "holds": [_plain(stay) for stay in self.stays],
            "notes": [asdict(note) for note in self.notes], "chain": [asdict(link) for link in self.chain],
            "readings": [list(reading) for reading in self.readings],
            "findings": [{"code": f["code"], "grade": f["grade"], "task": f["task"]} for f in self.findings],
            "texts": {lang: {key: words[key] for key in sorted(keys) if key in words}
                      for lang, words in self.sheet["texts"].items()},
        }  # fmt: skip


def _plain(record: Any) -> Facts:
    return {name: list(value) if isinstance(value, tuple) else value for name, value in asdict(record).items()}
