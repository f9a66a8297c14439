"""The audit, the exports and the card of a demo shop: everything that the pages show, as data."""

import csv
import io
import json
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from sheets import DAY, HOUR, T0
from shops import Clock, make_shop

from bayflow.job.canon import digest
from bayflow.shop import audit, card, demo, export, jobs, people, vehicles, words
from bayflow.shop.context import Shop
from bayflow.shop.errors import Invalid, NotFound, Refused

NOW = T0 + 8 * HOUR


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Shop, demo.Demo]]:
    """The demo shop, made once for this module; its tests only read."""
    shop = make_shop(tmp_path_factory.mktemp("demo") / "data", Clock(NOW))
    yield shop, demo.make(shop, now=NOW)
    shop.store.close()


@pytest.fixture(scope="module")
def lines(made) -> list[str]:
    """The finished job as exported JSON lines."""
    return export.json_lines(made[0], made[1].finished, now=NOW).splitlines()


def test_the_demo_has_its_three_jobs(made):
    """One released with a fault that somebody accepted, one whose second coat waits, one ready to start."""
    shop, found = made
    finished, holding, ready = (jobs.load(shop, j) for j in (found.finished, found.holding, found.ready))
    waits = [a["until"] for a in holding.gate(NOW).values() if a["state"] == "waiting"]

    assert finished.state["released"]
    assert len(finished.state["accepted"]) == 1
    assert finished.open_decisions(NOW) == []
    assert min(waits) - NOW > 12 * HOUR
    assert next(a["state"] for a in ready.gate(NOW).values()) == "ready"
    assert [j.id for j in (holding, ready)] == sorted(jobs.running(shop))


def test_everybody_in_the_demo_is_marked_as_invented(made):
    """No name of the demo can be taken for a real one."""
    shop, _ = made

    assert all("invented" in p.name for p in people.everyone(shop))
    assert all("invented" in v.note for v in vehicles.all_vehicles(shop))


def test_the_demo_fills_empty_shops_only(made):
    """A shop with people keeps them."""
    with pytest.raises(Refused, match="empty"):
        demo.make(made[0], now=NOW)


def test_an_audit_shows_every_task_with_who_and_when(made):
    """Every task of the sheet is there once an attempt; what was done has person, time and event."""
    shop, found = made
    seen = audit.audit(shop, found.finished, now=NOW)

    assert [s.task for s in seen.steps] == [f"{t['id']}#1" for t in seen.job.sheet["tasks"]]
    assert {s.how for s in seen.steps} == {"done", "accepted"}
    assert all(s.person and s.at and s.event in seen.job.by_id for s in seen.steps)
    assert {d["type"] for d in seen.decisions} == {"decided"}


def test_the_holds_of_an_audit_agree_with_the_sheet(made):
    """A held hold ended at or after it opened and before it shut; the day-long one is among them."""
    shop, found = made
    spans = audit.audit(shop, found.finished, now=NOW).holds

    assert {s.verdict for s in spans} == {"held"}
    assert all(s.ended >= (s.opens or 0) and (s.shuts is None or s.ended <= s.shuts) for s in spans)
    assert max(s.opens - s.since for s in spans if s.opens) >= DAY


def test_readings_stand_beside_their_limits(made):
    """The coldest surface that any task allows is the lower edge of its readings."""
    shop, found = made
    seen = audit.audit(shop, found.finished, now=NOW)
    least = min(
        limit["min"] for t in seen.job.sheet["tasks"] for limit in t["limits"]
        if limit["reading"] == "surface_temp" and limit.get("min") is not None
    )  # fmt: skip

    surface = [r for r in seen.readings if r.reading == "surface_temp" and r.least is not None]
    assert surface
    assert all(r.least >= least and r.inside for r in surface)


def test_a_plan_stands_beside_what_was_done(made):
    """Planned times come from outside and stretch the ruler; only the first attempt has them."""
    shop, found = made
    task = jobs.load(shop, found.finished).sheet["tasks"][0]["id"]
    seen = audit.audit(shop, found.finished, now=NOW, plan={task: (T0 - 9 * DAY, T0 - 8 * DAY)})

    assert (seen.steps[0].planned, seen.begins) == ((T0 - 9 * DAY, T0 - 8 * DAY), T0 - 9 * DAY)
    assert seen.steps[1].planned is None


def test_the_chain_and_its_seal_fit(made):
    """The seal in the ledger names the head that the job has."""
    shop, found = made
    chain = audit.audit(shop, found.finished, now=NOW).chain

    assert chain.fits
    assert [(s["n"], s["head"]) for s in chain.seals] == [(chain.n, chain.head)]


def test_an_export_gives_the_same_findings_elsewhere(made, lines):
    """From the exported lines alone the findings come out as the shop computed them."""
    assert export.recheck(lines) == jobs.load(made[0], made[1].finished).findings(NOW)
    assert len(export.recheck(lines)) >= 1


def test_an_export_holds_no_names(made, lines):
    """People are ids; names, plates and notes stay at home."""
    text = "\n".join(lines)

    assert [w for w in ("Ana", "Ben", "Cleo", "DEMO 1", "invented") if w in text] == []


def test_an_export_is_a_chain_that_anybody_can_check(lines):
    """SHA-256 over sorted, dense JSON (RFC 8785 for these values), each event naming the hash before it."""
    events = [line for line in map(json.loads, lines) if line["line"] == "event"]
    before = "0" * 64
    for n, line in enumerate(events, 1):
        assert (line["event"]["seq"], line["event"]["prev"]) == (n, before)
        before = digest(line["event"])
        assert line["hash"] == before


def _replaced(lines: list[str], kind: str, change) -> list[str]:
    """The lines with the middle one of *kind* changed by *change*."""
    at = [n for n, text in enumerate(lines) if f'"line":"{kind}"' in text]
    n = at[len(at) // 2]
    line = json.loads(lines[n])
    change(line)
    return [*lines[:n], json.dumps(line), *lines[n + 1 :]]


@pytest.mark.parametrize(
    ("kind", "change"),
    [
        ("event", lambda li: li["event"].update(at=li["event"]["at"] + 1)),
        ("event", lambda li: li.update(hash="0" * 64)),
        ("event", lambda li: li["event"].update(seq=1)),
        ("event", lambda li: li.update(line="other")),
        ("sheet", lambda li: li["sheet"]["tasks"][0]["holds"].clear() or li["sheet"].update(format=2)),
        ("job", lambda li: li.update(n=3)),
        ("findings", lambda li: li["findings"].pop()),
    ],
    ids=["an event", "its hash", "its place", "its kind", "the sheet", "the head", "a finding"],
)  # fmt: skip
def test_a_changed_export_is_found(lines, kind, change):
    """Whatever is changed in an export, it no longer proves itself."""
    with pytest.raises(Invalid):
        export.recheck(_replaced(lines, kind, change))


@pytest.mark.parametrize(
    "text", ["", "{", "[]", '{"line":"event"}', "\x00", '{"line":"job","n":1,"head":"x","format":1}']
)
def test_what_is_no_export_is_refused(text):
    """Any text gives a sentence."""
    with pytest.raises(Invalid):
        export.recheck([text])


def test_a_dropped_event_is_found(lines):
    """Leaving an event out breaks the chain; leaving the last out breaks the head."""
    at = [n for n, text in enumerate(lines) if '"line":"event"' in text]

    for n in (at[3], at[-1]):
        with pytest.raises(Invalid):
            export.recheck(lines[:n] + lines[n + 1 :])


def test_the_csv_is_readable_by_a_spreadsheet(made):
    """RFC 4180 lines, one an event; RFC 3339 times with the shop's offset."""
    shop, found = made
    rows = list(csv.DictReader(io.StringIO(export.csv_text(shop, found.finished))))

    assert len(rows) == jobs.load(shop, found.finished).head.n
    assert all(re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}\+02:00", r["time"]) for r in rows)
    assert rows[0]["type"] == "job-opened"


@pytest.mark.parametrize("cell", ["=1+1", "+x", "-x", "@x", "\tx"])
def test_a_cell_never_starts_a_formula(cell):
    """What a spreadsheet would compute is written as text (OWASP: CSV injection)."""
    assert export._safe(cell) == f"'{cell}"


def test_the_card_tells_a_customer_what_was_done_and_what_to_wait_for(made):
    """First wash and cure are counted from the last use of the coating, as its product sheet says."""
    shop, found = made
    job = jobs.load(shop, found.finished)
    car = vehicles.vehicle(shop, job.vehicle)
    (work,) = card.card(shop, car.code.lower(), now=NOW).works
    last = max(
        done["t"] for k, done in job.state["done"].items()
        if any(u["product"] == "ceramic-spray" for u in job.index.tasks[k.rpartition("#")[0]]["use"])
    )  # fmt: skip
    waits = {a["id"]: a["least"] for a in job.sheet["products"]["ceramic-spray"]["aftercare"]}

    assert {c.id: c.until - last for c in work.care if c.id.startswith("ceramic")} == {
        f"ceramic-spray.{name}": wait for name, wait in waits.items()
    }
    assert work.places == len(job.sheet["body"]["panels"])
    assert (work.n, work.head) == (job.head.n, job.head.hash)
    assert re.fullmatch(r"([A-Z2-7]{4}-){3}[A-Z2-7]{4}", work.short_head)


def test_the_card_holds_no_personal_data(made):
    """Title, plate, customer and people's names are not on it."""
    shop, found = made
    car = vehicles.vehicle(shop, jobs.load(shop, found.finished).vehicle)
    text = repr(card.card(shop, car.code, now=NOW)).replace("Example bay (invented)", "")

    assert [
        w for w in (car.title, car.plate, "Ana", "Ben", "Cleo", "invented", *found.people.values()) if w in text
    ] == []


def test_a_short_code_opens_no_card(made):
    """Six characters can be guessed; only the label's 26 open a card."""
    shop, _ = made

    with pytest.raises(NotFound):
        card.card(shop, vehicles.all_vehicles(shop)[0].short_code, now=NOW)


def test_times_and_spans_in_words():
    """RFC 3339 with milliseconds and the zone's offset, summer and winter; spans in two units at most."""
    assert words.rfc3339(T0 + 7, "Europe/Madrid") == "2026-07-14T10:00:00.007+02:00"
    assert words.rfc3339(T0 + 180 * DAY, "Europe/Madrid") == "2027-01-10T09:00:00.000+01:00"
    assert [words.span(ms) for ms in (0, 45_000, 3_900_000, DAY, -60_000)] == [
        "0 s",
        "45 s",
        "1 h 5 min",
        "24 h",
        "-1 min",
    ]
    assert [words.tenths(n) for n in (137, -5, 0)] == ["13.7", "-0.5", "0.0"]


@pytest.mark.parametrize("ms", [2**53 - 1, -(2**53) + 1])
def test_a_time_that_no_calendar_has_is_still_shown(ms):
    """A stored time may be absurd; the audit shows it as it is."""
    assert words.moment(ms, "UTC") == words.rfc3339(ms, "UTC") == f"{ms} ms"


def test_an_export_is_rechecked_without_the_shop(lines, tmp_path: Path):
    """A fresh process with only the file gives the findings: nothing of the shop is needed."""
    file = tmp_path / "job.jsonl"
    file.write_text("\n".join(lines), "utf-8")
    code = (
        "import sys\nfrom bayflow.shop.export import recheck\n"
        "print(len(recheck(open(sys.argv[1], encoding='utf-8').read().splitlines())))"
    )
    root = Path(__file__).resolve().parents[2]
    ran = subprocess.run([sys.executable, "-c", code, str(file)], cwd=root, capture_output=True, text=True, check=True)

    assert int(ran.stdout) == len(json.loads(lines[-1])["findings"])
