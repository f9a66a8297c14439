"""The vectors are sharp: each small fault planted in the JavaScript core is noticed by at least one of them."""

import json
from pathlib import Path

import pytest
from playwright.sync_api import Page
from vectors import cases, differences

STATIC = Path(__file__).parents[3] / "static"
CASES = cases()

FAULTS = [
    ("gate", "if (end < at.now)", "if (end <= at.now)"),
    ("gate", "if (start > at.now) wait", "if (start >= at.now) wait"),
    ("gate", "Math.min(...times) + hold.most", "Math.max(...times) + hold.most"),
    ("gate", "Math.max(...times) + hold.least", "Math.min(...times) + hold.least"),
    ("gate", "Math.max(found.opens, until)", "Math.min(found.opens, until)"),
    ("gate", "Math.min(found.shuts, end)", "Math.max(found.shuts, end)"),
    ("gate", "other !== undefined && other.group !== task.group", "other !== undefined"),
    ("gate", "if (late.length) return", "if (late.length && !waits.length) return"),
    ("gate", "if (missing.length) return", "if (missing.length && !outside.length) return"),
    ("gate", "start - hold.least, found);", "start, found);"),
    ("gate", "found.unread.push([", "found.cold.push(["),
    ("gate", 'wait[0] === "hold" ? ["early", wait[1], wait[2]] : wait', "wait"),
    ("gate", "rates[0][0]], because", "rates.at(-1)[0]], because"),
    ("cure", "decision.t >= start", "true"),
    ("cure", "decision.t >= start", "decision.t > start"),
    ("cure", '|| decision.outcome === "confirmed"', ""),
    ("cure", 'decision.outcome === "accept-as-is" ||', "true ||"),
    ("cure", "row <= dc", "row < dc"),
    ("cure", "b - a > gap", "b - a >= gap"),
    ("cure", "Math.min(b, end) - Math.max(a, start)", "b - a"),
    ("cure", "Math.min(tableRate(rates, one), tableRate(rates, other))", "tableRate(rates, other)"),
    ("cure", "if (missing <= 0)", "if (missing < 0)"),
    ("cure", "now < clock", "now <= clock"),
    ("cure", "now - last > hold.cure.gap", "now - last >= hold.cure.gap"),
    ("cure", "now >= opens", "now > opens"),
    ("cure", "Math.max(last, start) + ", "start + "),
    ("cure", "Math.ceil((missing", "((missing"),
    ("cure", "state.readings[`${cure.reading}|${of}`]", "state.readings[`${cure.reading}|air`]"),
    ("cure", 'let kind = rate ? "waiting" : "cold"', 'let kind = "waiting"'),
    ("film", "18 * spread", "17 * spread"),
    ("film", "values.length - dropped.length < LEAST", "values.length - dropped.length <= LEAST"),
    ("film", "(2 * sum(values) + values.length)", "(2 * sum(values))"),
    ("film", "** 2 * 625", "** 2 * 640"),
    ("film", "found?.real && ", ""),
    ("surveyed", "filter(([t]) => t <= now)", "filter(([t]) => t < now)"),
    ("surveyed", "found.set(row[1], row)", "found.has(row[1]) || found.set(row[1], row)"),
    ("surveyed", "now - t <= (index", "now - t < (index"),
    ("surveyed", "mean < min", "mean <= min"),
    ("surveyed", "mean > max", "mean >= max"),
    ("surveyed", "gone > limit.max", "gone >= limit.max"),
    ("surveyed", "begun[spot] ??= [", "begun[spot] = ["),
    ("surveyed", "Object.assign(begun, state.film_first[panel])", "begun"),
    ("surveyed", 'made.outcome === "accept-as-is" && ', ""),
    ("surveyed", "made.customer &&", ""),
    ("surveyed", '(state.people[made.decider] ?? "owner") === "owner"', "true"),
    ("surveyed", "if (filler &&", "if (!known && filler &&"),
    ("gate", "if (now in state.accepted) return", "if (now in state.accepted && 0) return"),
    ("gate", "now in state.left_out || now in state.accepted", "now in state.accepted"),
    ("gate", "&& !(now in state.not_right)", ""),
    ("gate", "at.state.done[now] ?? at.state.accepted[now]", "at.state.accepted[now] ?? at.state.done[now]"),
    ("gate", "at.state.done[now] ?? at.state.accepted[now]", "at.state.done[now]"),
    ("gate", "value < min", "value <= min"),
    ("gate", "value > max", "value >= max"),
    ("gate", "max !== null", "max"),
    ("gate", "now - best[0] <= ", "now - best[0] < "),
    ("gate", "t <= now", "t < now"),
    ("gate", "found[2] > best[2]", "found[2] < best[2]"),
    ("gate", "task.rescue ? rescue(at, task) : open(at, task)", "open(at, task)"),
    ("gate", "seen.has(JSON.stringify(fault))", "seen.has(fault)"),
    ("gate", "[...new Set(keys.map((k) => done[k].person))].sort()", "keys.map((k) => done[k].person)"),
    ("gate", "state.photo_draw.includes(task.id)", "true"),
    ("gate", "&& !(k in state.accepted)", ""),
    ("gate", "now.has(k) && ", ""),
    ("air", ">= humidityPermille * es(airDc);\n}", "> humidityPermille * es(airDc);\n}"),
    ("air", "es(surfaceDc - marginDc)", "es(surfaceDc) - marginDc"),
    ("air", "low = middle + 1", "low = middle + 2"),
    ("events", "event.at - (event.offset || 0)", "event.at + (event.offset || 0)"),
    ("events", "Math.min(Math.max(t, window[0]), window[1])", "Math.max(Math.min(t, window[1]), window[0])"),
    ("events", "Math.min(claimed, t)", "claimed"),
    ("events", "a.event.id < b.event.id ? -1 : 1", "0"),
    ("fold", '|| "seq" in event', ""),
    ("fold", "state.taken_back[of] ??= event.id", "state.taken_back[of] = event.id"),
    ("fold", '"not-right", "damage-found", "left-out", "roles", "decided",', '"not-right",'),
    ("fold", "REVOCABLE.has(types.get(of))", "types.has(of)"),
    ("fold", "inOrder(live.map(", "(live.map("),
    ("fold", "[...(changes.get(of) ?? []), event]", "[event]"),
    ("fold", '(data.field === "person" ? read : read.data)', "read.data"),
    ("fold", '|| !REFUSABLE.has(event.type)', "|| event.type !== 'left-out'"),
    ("fold", "new Set(event.tasks)", "event.tasks"),
    ("fold", "choice.ok || choice.id !== answer", "choice.ok"),
    ("fold", "first.also.push(event.id)", "0"),
    ("fold", "(late ? 0 : window[0])", "window[0]"),
    ("fold", "state.not_right[taskKey] ??= event.id;\n}", "state.not_right[taskKey] = event.id;\n}"),
    ("fold", "if (earlier?.claimed)", "if (false)"),
    ("fold", "attempt + 1), ATTEMPTS", "attempt), ATTEMPTS"),
    ("fold", "Math.max(state.attempts[taskId] ?? 1, attempt + 1)", "attempt + 1"),
    ("fold", "state.released = null", "0"),
    ("fold", "|| decisions[id].claimed", ""),
    ("fold", 'outcome === "accept-as-is"', 'outcome !== "refused"'),
    ("fold", "cleared: (state) => { state.stopped = null; }", "cleared: () => {}"),
    ("sheet", "tasks[first].group !== tasks[id].group", "true"),
    ("sheet", "of together(tasks, first)", "of [first]"),
    ("sheet", "of together(tasks, id)", "of [id]"),
    ("sheet", 'task.kind === "verify" ||', ""),
    ("sheet", "|| task.place === first.place", ""),
    ("sheet", "for (const hold of tasks[id].holds)", "for (const hold of [])"),
]  # fmt: skip

_LEARN = """(cases) => {
  window.answered = (core, {sheet, events, now, followers}) => {
    const index = core.makeIndex(sheet);
    const state = core.fold(index, events);
    const again = Object.keys(followers).map((id) => [id, core.followers(index, id)]);
    return JSON.stringify({state, gate: core.gate(index, state, now), followers: Object.fromEntries(again)});
  };
  window.cases = JSON.parse(cases).map((one) => [one, answered(core, one)]);
}"""
_DIFFERS = """async (base) => {
  const faulty = await import(base + "/js/core/index.js");
  const found = [];
  cases.forEach(([one, sound], n) => {
    let answer = null;
    try { answer = answered(faulty, one); } catch { /* a core that breaks down is noticed */ }
    if (answer !== sound) found.push([n, answer]);
  });
  return found;
}"""
"""The vectors that the changed core answers otherwise than the sound one: [its number, the answer or null]."""


NAMES = [f"{n} {module}: {new[:40] or 'removed'}" for n, (module, _, new) in enumerate(FAULTS)]


@pytest.fixture(scope="module")
def page(core_page: Page) -> Page:
    """The core's page, which knows the vectors and the sound core's answers."""
    core_page.evaluate(_LEARN, json.dumps(CASES))
    return core_page


@pytest.mark.parametrize("n", range(len(FAULTS)), ids=NAMES)
def test_a_planted_fault_is_noticed(page: Page, changes: dict[str, tuple[str, str, str]], n: int) -> None:
    """With this one text changed some vector is answered otherwise."""
    module, old, new = FAULTS[n]
    file = f"js/core/{module}.js"
    assert old in (STATIC / file).read_text("utf-8"), "the text to change is gone: give the fault its new place"
    changes[f"fault-{n}"] = (file, old, new)
    found = page.evaluate(_DIFFERS, f"/fault-{n}")
    assert any(answer is None or differences(CASES[case], json.loads(answer)) for case, answer in found)
