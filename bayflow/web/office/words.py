"""The core's codes as sentences, in English and Spanish: gate states and reasons, findings, events.

`Teller` is made for one job and one reader. It invents nothing: every name, number and time in a sentence comes from
the sheet, the log, or the people's private names. The tables are in `words_table`.
"""

from collections.abc import Iterable, Mapping
from typing import Any

from bayflow.job.events import Event, when
from bayflow.job.findings import Finding
from bayflow.job.sheet import split
from bayflow.trade.film import spot_mean
from bayflow.trade.units import length
from bayflow.web.office.reader import Reader, phrase
from bayflow.web.office.times import Clock, exact
from bayflow.web.office.words_table import WORDS

MOST_NAMED = 4
"""More tasks than this are counted, not listed, inside one sentence."""


class Teller:
    """Speaks of one job: *reader* knows its sheet, *names* its people, *clock* the zone, *events* its log."""

    def __init__(self, reader: Reader, names: Mapping[str, str], clock: Clock, events: Iterable[Event] = ()) -> None:
        self.reader, self.names, self.clock = reader, names, clock
        self.events = {e["id"]: e for e in events}

    def say(self, key: str, **given: Any) -> str:
        """The phrase *key* in the reader's language."""
        return phrase(self.reader.lang, key, **given)

    def name(self, person: str) -> str:
        """A person's name by id; the id itself where nobody is known by it."""
        return self.names.get(person, person)

    def people(self, ids: Iterable[str]) -> str:
        """`Ana and Ben`."""
        return self.listed([self.name(i) for i in ids])

    def listed(self, words: list[str]) -> str:
        """`a, b and c`; beyond `MOST_NAMED` the rest is counted."""
        if len(words) > MOST_NAMED:
            words = [*words[: MOST_NAMED - 1], f"+{len(words) - MOST_NAMED + 1}"]
        if len(words) < 2:
            return "".join(words)
        return f"{', '.join(words[:-1])} {self.say('and')} {words[-1]}"

    def tasks(self, names: Iterable[str]) -> str:
        """Several tasks in one breath: the step once, with its places: `Level the panel (bonnet, roof)`."""
        places: dict[str, list[str]] = {}
        for name in names:
            task = self.reader.index.tasks.get(_task_id(name))
            words = self.reader.text(task["do"]).rstrip(".") if task else _task_id(name)
            place = self.reader.place(task["place"]) if task else ""
            places.setdefault(words, []).extend([place] if place else [])
        return self.listed([f"{w} ({self.listed(p)})" if p else w for w, p in places.items()])

    def hold(self, hold_id: str) -> str:
        """A hold's name in words: the trade's word for its kind, else its id as the procedure names it."""
        known = f"hold.{hold_id}"
        return self.say(known) if known in WORDS["en"] else hold_id.replace("-", " ")

    def _of_task(self, task: str | None, hold_id: str) -> Mapping[str, Any]:
        holds = self.reader.index.tasks[_task_id(task)]["holds"] if task else []
        found: Mapping[str, Any] = next((h for h in holds if h["id"] == hold_id), {})
        return found

    # The gate

    def state(self, answer: Mapping[str, Any]) -> str:
        """What a step says of itself: `Waiting until 14:40`, `First: …`, `Ready`."""
        name, until = answer["state"], answer["until"]
        if name == "needs-first":
            return self.say("state.needs-first", first=self.tasks([b[1] for b in answer["because"][:1]]))
        if name == "waiting" and until is not None:
            return self.say("state.waiting", until=self.clock.moment(until))
        if name == "ready" and until is not None:
            return self.say("state.ready.until", until=self.clock.moment(until))
        return self.say(f"state.{name}")

    def reasons(self, answer: Mapping[str, Any], task: str | None = None) -> list[str]:
        """Why, one sentence a reason, and who can decide or must not. *task* (id or key) finds its holds' own words."""
        firsts = [b[1] for b in answer["because"] if b[0] == "first"]
        told = [self.reason(b, task) for b in answer["because"] if b[0] != "first"]
        if firsts:
            told.insert(0, self._firsts(firsts))
        who = answer["who"] or {}
        if who.get("role") in ("lead", "owner"):
            told.append(self.say(f"who.role.{who['role']}"))
        if who.get("not"):
            told.append(self.say("who.not", names=self.people(who["not"])))
        return told

    def _firsts(self, firsts: list[str]) -> str:
        if len(firsts) > MOST_NAMED:
            return self.say("because.first.more", task=self.tasks(firsts[:1]), n=len(firsts) - 1)
        return self.say("because.first", task=self.tasks(firsts))

    def reason(self, because: list[Any], task: str | None = None) -> str:
        """One reason of the gate, or one fault of a limit, as a sentence."""
        code, given = because[0], because[1:]
        if code in ("late", "hold"):
            return self._time(code, self._of_task(task, given[0]), given[0], given[1])
        teller = getattr(self, f"_because_{code.replace('-', '_')}", None)
        return str(teller(*given)) if teller else " ".join(str(x) for x in because)

    def _because_by(self, event: str) -> str:
        return self._who_when("because.by", event)

    def _because_accepted(self, event: str) -> str:
        return self._who_when("because.accepted", event)

    def _because_stopped(self, event: str) -> str:
        return self._who_when("because.stopped", event)

    def _who_when(self, key: str, event_id: str) -> str:
        event = self.events.get(event_id)
        who = self.name(self._decider(event)) if event else "?"
        return self.say(key, who=who, t=self.clock.moment(when(event)) if event else "?")

    def _time(self, code: str, hold: Mapping[str, Any], hold_id: str, t: int) -> str:
        named = {"hold": self.hold(hold_id), "t": self.clock.moment(t)}
        again = (hold.get("if_late") or {}).get("reopen")
        if code == "late":
            return self.say("because.late.reopen", **named, tasks=self.tasks(again)) if again else self.say(
                "because.late", **named
            )  # fmt: skip
        why = hold.get("why")
        return self.say("because.hold.why", **named, why=self.reader.text(why)) if why else self.say(
            "because.hold", **named
        )  # fmt: skip

    def _because_early(self, hold_id: str, opens: int) -> str:
        return self.say("because.early", hold=self.hold(hold_id), t=self.clock.moment(opens))

    def _because_reading(self, reading: str, subject: str) -> str:
        return self.say("because.reading", reading=_lower(self.reader.reading(reading)),
                        subject=self.reader.subject(subject))  # fmt: skip

    def _because_below(self, reading: str, value: int, limit: int, event: str = "") -> str:
        return self._bound("because.thin" if event else "because.below", reading, value, limit, event)

    def _because_above(self, reading: str, value: int, limit: int, event: str = "") -> str:
        return self._bound("because.above", reading, value, limit, event)

    def _because_unread(self, remark: str, event: str) -> str:
        return self.say("because.unread", subject=self._panel(event), remark=self.say(f"remark.{remark}"))

    def _panel(self, event_id: str) -> str:
        """The panel that a spot was read on."""
        event = self.events.get(event_id)
        return self.reader.place(event["data"]["panel"]) if event else ""

    def _bound(self, key: str, reading: str, value: int, limit: int, event: str) -> str:
        r, subject = self.reader, self._panel(event)
        name = _lower(r.reading(reading)) if subject else r.reading(reading)
        shown = {"value": r.value(reading, value), "limit": r.value(reading, limit)}
        return self.say(key, reading=name, subject=subject, **shown)

    def _because_dew(self, surface: int, needed: int) -> str:
        r = self.reader
        return self.say("because.dew", value=r.value("surface_temp", surface), limit=r.value("surface_temp", needed))

    def _because_cure(
        self, hold_id: str, need: int, clock: int, measured: int, credited: int, value: int | None, rate: int | None,
        opens: int,
    ) -> str:  # fmt: skip
        reading = self.reader.cure_reading(hold_id)
        shown = "" if value is None else self.reader.value(reading, value)
        more = self.say("because.cure.none", reading=_lower(self.reader.reading(reading))) if value is None else (
            self.say("because.cure.now", value=shown, share=(rate or 0) // 10) if rate
            else self.say("because.cure.cold", value=shown)
        )  # fmt: skip
        spans = {"need": need, "clock": clock, "measured": measured, "credited": credited}
        return self.say("because.cure", **{name: exact(ms // 60_000 * 60_000) for name, ms in spans.items()}, now=more)

    def _because_photo(self) -> str:
        return self.say("because.photo")

    def _because_batch(self, product: str) -> str:
        return self.say("because.batch", product=self.reader.product(product))

    def _because_claimed(self, event: str) -> str:
        return self.say("because.claimed", what=self.event_id(event))

    def _because_not_right(self, key: str) -> str:
        return self.say("because.not-right", task=self.reader.task(key))

    def _because_open(self, key: str) -> str:
        return self.say("because.open", task=self.reader.task(key))

    # Findings

    def finding(self, found: Finding) -> str:
        """One finding as a sentence. The events that prove it are in `found["events"]`."""
        facts, data = found["facts"], self._data(found)
        given: dict[str, Any] = {
            "task": self.reader.task(found["task"]) if found["task"] else "",
            "what": self.event_id(found["events"][0]) if found["events"] else "",
            "words": _aside(str(data.get("words") or data.get("note") or "")),
            "reason": _sentence(str(data.get("reason") or "")),
            "decider": self.name(str(data.get("decider") or "")),
            "approver": self.name(str(data.get("approver") or "")),
            "batch": data.get("batch") or "–", "expiry": data.get("expiry") or "–",
            "tasks": self.tasks(facts.get("tasks", ())), "first": self.tasks(facts.get("first", ())),
            "hold": self.hold(str(facts.get("hold", ""))),
            "person": self.name(str(facts.get("person", ""))),
            "place": self.reader.place(str(facts.get("place", ""))) or self.reader.plain_place("car"),
            "product": self.reader.product(str(facts.get("product", ""))),
            "fault": self.reason(facts["fault"]) if "fault" in facts else "",
            "more": self.reader.film(facts["more"]) if "more" in facts else "",
        }  # fmt: skip
        spans = (("need", exact), ("took", exact), ("usual", exact), ("credited", exact))
        for name, show in (*spans, ("happened", self.clock.full), ("t", self.clock.moment)):
            given[name] = show(facts[name]) if name in facts else ""
        given |= self._cured(facts)
        if found["code"] in ("taken-back", "amended"):
            given |= self._changed(data)
        return " ".join(self.say(f"finding.{found['code']}", **given).split())

    def _cured(self, facts: Mapping[str, Any]) -> dict[str, str]:
        """Of a night: the step that waits, and temperatures as people read them."""
        task = next((t for t in self.reader.sheet["tasks"] if t["id"].partition("@")[0] == facts.get("step")), None)
        reading = str(facts.get("reading", "air_temp"))
        shown = {"step": self.reader.text(task["do"]).rstrip(".") if task else ""}
        shown |= {name: self.reader.value(reading, facts[name]) for name in ("value", "floor") if name in facts}
        return shown | ({"margin": self.reader.value("dew_margin", facts["margin"])} if "margin" in facts else {})

    def _changed(self, data: Mapping[str, Any]) -> dict[str, Any]:
        field = str(data.get("field", ""))
        first = self.events.get(str(data.get("of", "")))
        shown = {name: self.shown(field, data.get(name), first) for name in ("old", "new")}
        return {"what": self.event_id(str(data.get("of", ""))), "field": self.field(field), **shown}

    def field(self, field: str) -> str:
        """The name of a field that was amended."""
        return self.say(f"field.{field}") if field else ""

    def shown(self, field: str, value: Any, event: Event | None) -> str:
        """A field's value as people read it: before or after an amendment."""
        if value is None or value == "":
            return "–"
        if field == "person":
            return self.name(str(value))
        if field == "happened" and isinstance(value, int):
            return self.clock.full(value)
        if field == "value" and event and isinstance(value, int):
            return self.reader.value(str(event["data"].get("reading", "")), value)
        if field == "values" and isinstance(value, list):
            return self._values(value)
        if field == "answer" and event and event["tasks"]:
            return self.reader.answer(_task_id(event["tasks"][0]), str(value))
        return str(value)

    def grade(self, found: Finding) -> str:
        """The grade in words, or who decided what about it."""
        decision = self.events.get(found["decided"] or "")
        if not decision and found["code"] == "not-right":
            decision = next((e for e in map(self.events.get, found["events"]) if e and e["type"] == "decided"), None)
        if not decision:
            return self.say(f"grade.{found['grade']}")
        data = decision["data"]
        return self.say(
            "grade.decided", outcome=self.say(f"outcome.{data['outcome']}"), who=self.name(data["decider"]),
            t=self.clock.full(when(decision)), reason=_sentence(data["reason"]),
        )  # fmt: skip

    def _data(self, found: Finding) -> Mapping[str, Any]:
        event = self.events.get(found["events"][0]) if found["events"] else None
        data: Mapping[str, Any] = event["data"] if event else {}
        return data

    # Events

    def event_id(self, event_id: str) -> str:
        """An event in a few words, by id."""
        event = self.events.get(event_id)
        return self.event(event) if event else event_id

    def kind(self, event: Event) -> str:
        """The type of an event, in words."""
        return self.say(f"event.{event['type']}") if event["type"] in _TYPES else str(event["type"])

    def event(self, event: Event) -> str:
        """What an event says, without who and when: `Reading: surface temperature, bonnet, 18.5 °C`."""
        detail = self._detail(event)
        return f"{self.kind(event)}: {detail}" if detail else self.kind(event)

    def _detail(self, event: Event) -> str:
        data, kind, r = event["data"], event["type"], self.reader
        if kind == "reading":
            value = r.value(data["reading"], data["value"])
            return f"{_lower(r.reading(data['reading']))}, {r.subject(data['subject'])}, {value}"
        if kind == "spot":
            return self._spot(data)
        if kind == "applied":
            dates = ", ".join(x for x in (data["batch"], data["expiry"]) if x)
            return f"{r.product(data['product'])}{f' ({dates})' if dates else ''}"
        if kind == "damage-found":
            size = f", {length(data['mm'], r.units, r.lang)}" if "mm" in data else ""
            return f"{r.place(data['place']) or r.plain_place('car')}, {data['words']}{size}"
        if kind in ("taken-back", "amended"):
            first = self.events.get(data["of"])
            field = f"{self.field(data['field'])}, " if kind == "amended" else ""
            return field + (self.event(first) if first else "")
        if kind == "decided":
            return f"{self.say('outcome.' + data['outcome'])}. {_sentence(data['reason'])}"
        if kind == "roles":
            return f"{self.name(data['spreads'])} / {self.name(data['levels'])}"
        words = self.tasks(event["tasks"])
        if data.get("answer"):
            task = _task_id(event["tasks"][0]) if event["tasks"] else ""
            words = f"{words}: {r.answer(task, data['answer'])}"
        said = data.get("words") or data.get("reason") or data.get("note")
        return ". ".join(x for x in (words, str(said or "")) if x)

    def _spot(self, data: Mapping[str, Any]) -> str:
        """`bonnet, spot 1: 118 µm, 119 µm, 121 µm; mean 119.3 µm`, or why there is no reading."""
        at = f"{self.reader.place(data['panel'])}, {self.say('spot', n=data['spot'])}"
        if not data["values"]:
            return f"{at}: {self.say('remark.' + data['remark'])}"
        mean = spot_mean(data["values"], self.reader.index.spread).mean
        return f"{at}: {self._values(data['values'])}; {self.say('spot.mean', value=self.reader.film(mean))}"

    def _values(self, values: list[int]) -> str:
        return ", ".join(self.reader.value("film", one) for one in values)

    def _decider(self, event: Event) -> str:
        return str(event["data"].get("decider") or event["person"])


_TYPES = frozenset({
    "job-opened", "done", "reading", "spot", "photo", "applied", "not-right", "damage-found", "taken-back", "amended",
    "left-out", "decided", "reopened", "paused", "resumed", "taken-over", "stopped", "cleared", "roles",
    "sheet-changed", "clock-phone", "released",
})  # fmt: skip


def _task_id(name: str) -> str:
    try:
        return split(name)[0]
    except ValueError:
        return name


def _sentence(text: str) -> str:
    text = text.strip()
    return text if not text or text[-1] in ".!?…" else f"{text}."


def _aside(text: str) -> str:
    """What somebody said, after a dash, without its own full stop."""
    return f" – {text.strip().rstrip('.')}" if text.strip() else ""


def _lower(words: str) -> str:
    return words[:1].lower() + words[1:]
