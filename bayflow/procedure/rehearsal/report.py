"""A rehearsal as plain text for a terminal or a page: what happens when, the holds, what to mind, what decides."""

from itertools import groupby

from bayflow.job.findings import open_decisions
from bayflow.procedure.hours import DAYS, Hours
from bayflow.procedure.rehearsal.model import Link, Rehearsal, Stay, Work
from bayflow.procedure.rehearsal.notes import sentence
from bayflow.procedure.rehearsal.say import Say
from bayflow.procedure.rehearsal.sums import held, slack

SHORT_MS = 3_600_000
"""Waits shorter than this don't break a part of the chain in two."""


def report(rehearsal: Rehearsal, lang: str = "en", zone: str | None = None, units: str = "metric") -> str:
    """The whole rehearsal in words: *lang* en or es, local times of *zone* (the shop's), *units* metric or us."""
    say = Say(rehearsal, lang, zone, units)
    lines = [*_head(say), "", say.word("happens"), *_timeline(say)]
    lines += ["", say.word("holds"), *_holds(say)] if rehearsal.stays else []
    lines += _machines(say)
    if rehearsal.notes:
        lines += ["", say.word("warnings")] + [f"  - {sentence(say, note)}" for note in rehearsal.notes]
    found = open_decisions(list(rehearsal.findings))
    if found:
        lines += ["", say.word("findings")] + [f"  - {_finding(say, f['code'], f['task'])}" for f in found]
    if rehearsal.fault:
        lines += ["", say.word("fault"), f"  {sentence(say, rehearsal.fault)}"]
    else:
        lines += ["", say.word("decides"), *_chain(say), *_slack(say)]
    return "\n".join([*lines, "", *_end(say)]) + "\n"


def _head(say: Say) -> list[str]:
    rehearsal, sheet = say.rehearsal, say.rehearsal.sheet
    workers = len([p for p in rehearsal.people if p.startswith("person-")])
    key = "one-person" if workers == 1 else "and-lead" if len(rehearsal.people) > workers else "people"
    title = say.word("title", procedures=", ".join(say.text(p["title"]) for p in sheet["procedures"]),
                     body=say.text(sheet["body"]["title"]))  # fmt: skip
    people = say.word(key, n=workers)
    setting = say.word("setting", start=say.when(rehearsal.start), zone=say.zone.key, people=people,
                       hours=_hours(say, rehearsal.hours))  # fmt: skip
    values = ", ".join(f"{say.reading(name)} {say.value(name, value)}" for name, _, value in rehearsal.readings)
    return [title, setting, say.word("basis", readings=values) if values else say.word("basis-plain")]


def _hours(say: Say, hours: Hours) -> str:
    """Weekly hours, days with the same hours together."""
    names = dict(zip(DAYS, say.words["weekdays"].split(), strict=True))
    if all(spans == ((0, 1440),) for spans in hours.week):
        return say.word("always")
    pieces = []
    for spans, days in groupby(zip(DAYS, hours.week, strict=True), key=lambda one: one[1]):
        named = [names[day] for day, _ in days]
        if spans:
            text = " ".join(f"{o // 60:02}:{o % 60:02}–{c // 60:02}:{c % 60:02}" for o, c in spans)
            pieces.append(f"{named[0]}{'–' + named[-1] if len(named) > 1 else ''} {text}")
    closed = [say.word("closed-days", days=", ".join(map(str, sorted(hours.closed))))] if hours.closed else []
    return "; ".join([*pieces, *closed])


# What happens when


def _timeline(say: Say) -> list[str]:
    lines: list[str] = []
    for part, works in groupby(_parted(say), key=lambda w: w.part):
        lines.append(f"  {say.part(part)}")
        rows: dict[tuple[str, str], list[Work]] = {}
        for work in works:
            rows.setdefault((say.day(work.start), "reading" if work.kind == "reading" else work.step), []).append(work)
        lines += [_row(say, row) for row in sorted(rows.values(), key=lambda r: (r[0].start, r[0].number))]
    return lines


def _parted(say: Say) -> list[Work]:
    """The works, those of one part together, the parts in the order in which they were begun."""
    first: dict[str, int] = {}
    for work in say.rehearsal.works:
        first.setdefault(work.part, work.number)
    return sorted(say.rehearsal.works, key=lambda work: (first[work.part], work.number))


def _row(say: Say, works: list[Work]) -> str:
    main = say.groups[works[0].group]
    do = say.word("reading") if works[0].kind == "reading" else say.text(main["do"])
    places = [p for w in works for p in w.places if p != "car"]
    if len(works) == 1 and len(places) == 1:
        do += f" ({say.place(places[0])})"
    elif len(places) > 1:
        do += f" ({say.word('places', n=len(places))})"
    span = sum(w.end - w.start for w in works)
    when = say.between(works[0].start, max(w.end for w in works))
    return f"    {when:<25} {say.span(span):>12}  {say.works(works)}: {do}"


# Holds


def _holds(say: Say) -> list[str]:
    lines: list[str] = []
    rows: dict[tuple[str, str, str], list[Stay]] = {}
    for stay in say.rehearsal.stays:
        rows.setdefault((stay.part, stay.step, stay.hold), []).append(stay)
    for (part, step, hold), same in rows.items():
        places = f" ({say.word('places', n=len(same))})" if len(same) > 1 else ""
        facts = {"hold": say.hold(hold, same[0].kind), "do": say.step(part, step), "places": places}
        if same[0].rescue and all(s.signed is not None and (s.shuts is None or s.signed <= s.shuts) for s in same):
            lines.append("  " + say.word("rescues", **facts))
        else:
            lines += ["  " + say.word("hold-line", **facts), *_hold_times(say, same)]
    return lines


def _hold_times(say: Say, same: list[Stay]) -> list[str]:
    opens = [s.opens for s in same if s.opens is not None]
    shuts = [s.shuts for s in same if s.shuts is not None]
    taken = [s.taken for s in same if s.taken is not None]
    lines = []
    if opens:
        lines.append(say.word("opens", when=say.between(min(opens), max(opens)),
                              there=_there(say, [s.there_opens for s in same])))  # fmt: skip
    if shuts:
        lines.append(say.word("shuts", when=say.between(min(shuts), max(shuts)),
                              there=_there(say, [s.there_shuts for s in same])))  # fmt: skip
    lines.append(say.word("taken", when=say.between(min(taken), max(taken))) if taken else say.word("not-taken"))
    return [f"    {line}" for line in lines]


def _there(say: Say, there: list[bool | None]) -> str:
    known = [one for one in there if one is not None]
    if len(set(known)) == 1:
        return say.word("there" if known[0] else "not-there")
    return say.word("partly", n=sum(known), of=len(known))


# What decides


def _chain(say: Say) -> list[str]:
    lines = []
    for links in _pieces(say, list(say.rehearsal.chain)):
        when, span = say.between(links[0].start, links[-1].end), say.span(links[-1].end - links[0].start)
        if links[0].kind == "work":
            parts = dict.fromkeys(say.part(_part(say, link)) for link in links if link.work is not None)
            lines.append(f"    {when:<33} {say.word('link-work', part=', '.join(parts))}, {span}")
        else:
            what = say.hold(links[0].hold) if links[0].hold else ""
            lines.append(f"    {when:<33} {say.word(f'link-{links[0].kind}', hold=what, span=span)}")
    return lines


def _pieces(say: Say, chain: list[Link]) -> list[list[Link]]:
    """The chain in pieces to print: work on end, with the short waits in it, is one piece."""
    pieces: list[list[Link]] = []
    for link in chain:
        short = link.kind != "work" and link.end - link.start < SHORT_MS and link.kind in ("hold", "hands")
        if pieces and pieces[-1][0].kind == "work" and (link.kind == "work" or short):
            pieces[-1].append(link)
        else:
            pieces.append([link])
    return pieces


def _part(say: Say, link: Link) -> str:
    return say.rehearsal.works[link.work or 0].part


def _slack(say: Say) -> list[str]:
    """The parts that do not decide, the one that can wait longest first."""
    free = sorted(((ms, part) for part, ms in slack(say.rehearsal.sheet).items() if ms >= SHORT_MS), reverse=True)
    parts = "; ".join(f"{say.part(part)} {say.span(ms)}" for ms, part in free)
    return [f"    {say.word('can-wait', parts=parts)}"] if parts else []


# Machines


def _machines(say: Say) -> list[str]:
    """Who holds which machine for how long on which day."""
    rows = [
        f"  - {day.isoformat()}, {say.person(person)}: "
        + ", ".join(f"{say.text(f'machine.{kind}')} {say.span(ms)}" for kind, ms in kinds.items())
        for (day, person), kinds in sorted(held(say.rehearsal).items())
    ]
    return ["", say.word("machines"), *rows] if rows else []


# The end


def _finding(say: Say, code: str, task: str | None) -> str:
    what = say.words.get(code, code)
    return f"{say.group((task or '').rpartition('#')[0])}: {what}" if task else what


def _end(say: Say) -> list[str]:
    rehearsal = say.rehearsal
    labour = say.span(rehearsal.labour_ms)
    if rehearsal.hand_over is None or rehearsal.elapsed_ms is None:
        return [say.word("no-hand-over", labour=labour)]
    lines = [] if any(t["release"] for t in rehearsal.sheet["tasks"]) else [say.word("no-release")]
    elapsed = say.span(rehearsal.elapsed_ms)
    return [*lines, say.word("hand-over", when=say.when(rehearsal.hand_over), labour=labour, elapsed=elapsed)]
