"""A rehearsal in words, before a job is opened: when what happens, whether somebody is there, when the car is ready."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from bayflow.job.sheet import Index
from bayflow.procedure.rehearsal.model import Note, Rehearsal, Stay
from bayflow.procedure.rehearsal.sums import held, slack
from bayflow.shop.exposures import Declared
from bayflow.trade.exposure import ACTION_ENERGY, LIMIT_ENERGY, points, vibration_energy
from bayflow.web.office.reader import Reader
from bayflow.web.office.times import Clock, span
from bayflow.web.office.words import Teller

MINUTE = 60_000
LONG_MS = 15 * MINUTE


@dataclass(frozen=True)
class PartLine:
    """One part of the plan: from when to when, and how much work is in it."""

    title: str
    start: int
    end: int
    labour: int
    waits: str


def _waits(ms: int) -> str:
    return "decides" if ms < MINUTE else span(ms // MINUTE * MINUTE)


class Told:
    """One rehearsal in the reader's words."""

    def __init__(self, made: Rehearsal, lang: str, units: str, now: int) -> None:
        self.made, self.clock = made, Clock(made.zone, now, lang)
        self.reader = Reader(Index(made.sheet), lang, units)
        self.teller = Teller(self.reader, {}, self.clock)

    @property
    def hand_over(self) -> str:
        """When the car can be handed over at the earliest; empty where the job cannot be finished."""
        at = self.made.hand_over
        return f"{self.clock.day(at)}, {self.clock.clock(at)}" if at is not None else ""

    @property
    def labour(self) -> str:
        """The hours of work in it."""
        return span(self.made.labour_ms)

    def parts(self) -> list[PartLine]:
        """Parts in the order in which they begin."""
        works: dict[str, list[Any]] = {}
        waits = slack(self.made.sheet)
        for work in self.made.works:
            works.setdefault(work.part, []).append(work)
        return [
            PartLine(self.reader.part(part), min(w.start for w in ws), max(w.end for w in ws),
                     sum(w.end - w.start for w in ws), _waits(waits.get(part, 0)))
            for part, ws in works.items()
        ]  # fmt: skip

    def machines(self, known: dict[str, Declared]) -> list[str]:
        """Who would hold which machine how long, and what it does to their day, by the shop's *known* machines."""
        return [self._held(day, person, kinds, known) for (day, person), kinds in sorted(held(self.made).items())]

    def _held(self, day: date, person: str, kinds: dict[str, int], known: dict[str, Declared]) -> str:
        energy = sum(vibration_energy(one.cms2 or 0, ms) for kind, ms in kinds.items() if (one := known.get(kind)))
        who = f"person {person[7:]}" if person.startswith("person-") else "the lead"
        lasts = ", ".join(f"{self.reader.text(f'machine.{kind}')} {span(ms)}" for kind, ms in kinds.items())
        told = f"{day.isoformat()}, {who}: {lasts}"
        if any(known.get(kind) is None or known[kind].cms2 is None for kind in kinds):
            return f"{told}. What it does to the hands is not known: see Machines."
        if energy < ACTION_ENERGY:
            return f"{told}, {points(energy)} points of vibration; the action value is 100."
        word = "the limit (400)" if energy >= LIMIT_ENERGY else "the action value (100)"
        return f"{told}, {points(energy)} points of vibration: over {word}. Share it between people or days."

    def holds(self) -> list[str]:
        """The long holds, one sentence a step."""
        tightest: dict[tuple[str, str], Stay] = {}
        for stay in self.made.stays:
            ends = [t for t in (stay.opens, stay.shuts) if t is not None]
            if ends and max(ends) - stay.began >= LONG_MS:
                known = tightest.setdefault((stay.step, stay.hold), stay)
                if (stay.opens or 0) > (known.opens or 0):
                    tightest[stay.step, stay.hold] = stay
        return [self._hold(stay) for stay in tightest.values()]

    def _hold(self, stay: Stay) -> str:
        name = self.teller.hold(stay.hold)
        told = f"{name[:1].upper()}{name[1:]} before “{self._step(stay.task)}”"
        if stay.opens is not None:
            told += f": opens {self._when(stay.opens)}{self._there(stay.there_opens)}"
        if stay.shuts is not None:
            word = ", shuts" if stay.opens is not None else ": shuts"
            told += f"{word} {self._when(stay.shuts)}{self._there(stay.there_shuts)}"
        return f"{told}."

    def _when(self, ms: int) -> str:
        return self.clock.moment(ms)

    def _there(self, there: bool | None) -> str:
        return "" if there else " (nobody is there)"

    def _step(self, task: str) -> str:
        known = self.reader.index.tasks.get(task)
        return self.reader.text(known["do"]).rstrip(".") if known else task

    def notes(self) -> list[str]:
        """What to know before saying yes."""
        return list(dict.fromkeys(filter(None, (self.note(n) for n in self.made.notes))))

    def fault(self) -> str:
        """Why the job cannot be finished as things stand; empty if it can."""
        return self.note(self.made.fault) or "It cannot be finished." if self.made.fault else ""

    def note(self, note: Note) -> str:
        """One note or fault as a sentence; an unknown code says its own name, so that nothing is swallowed."""
        teller = getattr(self, f"_note_{note.code.replace('-', '_')}", None)
        return str(teller(note.facts)) if teller else f"{note.code.replace('-', ' ')}."

    def _group(self, group: str) -> str:
        ids = self.reader.index.groups.get(group, ())
        return self.teller.tasks(ids) if ids else group

    def _named(self, facts: dict[str, Any]) -> str:
        return self.teller.hold(str(facts["hold"])) if facts.get("hold") else "what comes after"

    def _note_start_by(self, facts: dict[str, Any]) -> str:
        away = "" if facts["there"] else ", with nobody here"
        return (f"Start “{self.reader.part(facts['part'])}” by {self._when(facts['latest'])}, or {self._named(facts)} "
                f"shuts at {self._when(facts['shuts'])}{away}.")  # fmt: skip

    def _note_shuts_alone(self, facts: dict[str, Any]) -> str:
        latest = f" Begin by {self._when(facts['latest'])}." if facts["latest"] else ""
        part = self.reader.part(facts["part"])
        return f"{part}: {self._named(facts)} shuts {self._when(facts['shuts'])}, with nobody here.{latest}"

    def _note_by_table(self, facts: dict[str, Any]) -> str:
        at = self.reader.value(facts["reading"], facts["at"])
        return (f"{self.reader.part(facts['part'])}: {self._named(facts)} runs by the product’s table: "
                f"{span(facts['least'])} as rehearsed here, up to {span(facts['coldest'])} at {at}; colder counts "
                "nothing, and only measured time counts.")  # fmt: skip

    def _note_held_back(self, facts: dict[str, Any]) -> str:
        until = self._when(facts["until"])
        return f"“{self._group(facts['group'])}” waits until {until}, so that {self._named(facts)} can be kept."

    def _note_lead_looks(self, facts: dict[str, Any]) -> str:
        return f"A lead comes in for “{self._group(facts['group'])}”: everybody else did some of the work."

    def _note_own_check(self, facts: dict[str, Any]) -> str:
        return f"“{self._group(facts['group'])}” asks for another person; alone, nobody is there to do it."

    def _note_coat_in_pieces(self, facts: dict[str, Any]) -> str:
        return f"“{self.reader.part(facts['part'])}” does not fit into one stretch of hours and is done in pieces."

    def _note_too_late(self, facts: dict[str, Any]) -> str:
        return (f"“{self.reader.task(facts['task'])}” cannot be begun in time: {self._named(facts)} shuts "
                f"{self._when(facts['latest'])}.")  # fmt: skip

    def _note_never(self, facts: dict[str, Any]) -> str:
        return f"“{self._group(facts['group'])}” never finds hours in which {self._named(facts)} can be kept."

    def _note_too_long(self, facts: dict[str, Any]) -> str:
        return (f"“{self._group(facts['group'])}” takes {span(facts['span'])}; the longest stretch of hours is "
                f"{span(facts['longest'])}.")  # fmt: skip

    def _note_nobody_decides(self, facts: dict[str, Any]) -> str:
        return f"Nobody is there who may decide “{self._group(facts['group'])}”: it takes a {facts['role']}."

    def _note_circle(self, facts: dict[str, Any]) -> str:
        return "These steps wait for each other: " + ", ".join(self._group(g) for g in facts["groups"]) + "."

    def _note_stuck(self, facts: dict[str, Any]) -> str:
        return f"“{self._group(facts['group'])}” can never be begun."

    def _note_no_end(self, facts: dict[str, Any]) -> str:
        return f"“{self._group(facts['group'])}” is never reached."

    def _note_no_reading(self, facts: dict[str, Any]) -> str:
        return f"“{self._group(facts['group'])}”: {self.teller.reason(facts['because'])}"
