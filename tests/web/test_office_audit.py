"""The audit page: what happened beside what was planned, every finding with its proof, exports, cards, paper."""

import json
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest
import zxingcpp
from office_world import PINS, SECRET_NAME, SECRET_PLATE, Browser, World, texts
from sheets import HOUR
from shops import revision_of
from test_office_cars import _drawn

from bayflow.shop import acts, board, export, jobs, release

P = "two-coat-protection"
SAFETY = (
    "Follow the product label and safety data sheet, your local rules, and the advice of licensed professionals. "
    "If they differ from this screen, follow them."
)


class Finished:
    """One job that went wrong in places and was released, and who is looking at it."""

    def __init__(self, folder: Path) -> None:
        self.world = world = World(folder)
        self.job = job = world.open_job().id
        world.walk(job, until="first-coat")
        world.append(job, "reading", reading="surface_temp", subject="car", value=60, raw="6")
        world.tick(1)
        self.early = world.append(job, "done", [f"{P}/wipe-1@roof#1", f"{P}/spread-1@roof#1"])
        world.tick(1)
        world.append(job, "done", [f"{P}/level-1@roof#1"])
        self.reading = world.append(job, "reading", reading="surface_temp", subject="car", value=200, raw="20")
        world.append(job, "applied", product="ceramic-spray", batch="B-17", expiry="2027-01-31")
        world.append(job, "damage-found", place="bonnet", words="stone chip", mm=2)
        ben = world.people["ben"]
        acts.amend(world.shop, job, self.reading["id"], "value", 215, reason="misread", by=ben, now=world.now + 1)
        world.tick(1)
        world.walk(job)
        self.decide()
        release.release(world.shop, job, by=world.people["lea"], now=world.now)
        world.tick(60)
        self.browser: Browser = world.sign_in("ana")
        self.page = self.browser.get(f"/audit/{job}")
        self.text = texts(self.page)

    def decide(self) -> None:
        """Lea answers whatever needs a decision."""
        for finding in jobs.load(self.world.shop, self.job).open_decisions(self.world.now):
            acts.decide(
                self.world.shop, self.job, finding["id"], outcome="accept-as-is", reason="looked at, even",
                decider=self.world.people["lea"], now=self.world.now,
            )  # fmt: skip


@pytest.fixture(scope="module")
def seen(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Finished]:
    made = Finished(tmp_path_factory.mktemp("audit"))
    yield made
    made.world.close()


def test_the_page_opens_and_says_what_it_is_about(seen: Finished) -> None:
    """Job, car, procedure with revision, opened and released with the zone's offset, who audits."""
    assert seen.page.status_code == 200
    procedure = f"Two-coat protection, revision {revision_of(f'{P}.yaml')}"
    opened = "2026-07-14 10:00:00 +02:00 by Ana"
    for words in (seen.job, "grey saloon: Two-coat protection", procedure, "Europe/Madrid", opened):
        assert words in seen.text
    assert "chain whole, sealed 1 × and fits" in seen.text
    assert SAFETY in seen.text


def test_a_coat_on_a_cold_panel_is_a_finding_with_the_events_that_prove_it(seen: Finished) -> None:
    """6.0 °C on the panel, at least 10 °C asked (the sheet's own limit): sentence, events with time, person, phone."""
    log = jobs.load(seen.world.shop, seen.job).by_id
    number = log[seen.early["id"]]["seq"]

    assert "Done out of limits: Spread two sprays, along, then across (roof)." in seen.text
    assert "Panel temperature is 6 °C. It must be at least 10 °C." in seen.text
    assert re.search(rf'href="#e{number}">event {number}</a> \([^)]*\+02:00, Ben, shop\)', seen.page.text)
    assert "Decided: accepted as is, by Lea" in seen.text
    assert re.search(r"About finding \d+: Done out of limits: Spread two sprays", seen.text)


def test_findings_are_numbered_alike_in_the_picture_and_in_the_list(seen: Finished) -> None:
    """Each numbered flag of the picture stands for the sentence with that number."""
    flags = re.findall(r'class="flag-number"[^>]*>(\d+)<', seen.page.text)
    listed = re.findall(r'<li id="f(\d+)">', seen.page.text)
    titles = dict(re.findall(r"<title>(\d+)\. ([^<]*)</title>", seen.page.text))

    assert len(listed) == len(jobs.load(seen.world.shop, seen.job).findings(seen.world.now))
    assert sorted(flags, key=int) == sorted(listed, key=int)
    for number, words in titles.items():
        item = seen.page.text.split(f'<li id="f{number}">')[1].split("</li>")[0]
        assert words in item


def test_planned_and_actual_share_one_axis(seen: Finished) -> None:
    """Every part is drawn twice, planned and actual; the recoat hold's bracket is 24 h wide on the same scale."""
    planned = len(re.findall(r'class="work planned', seen.page.text))
    actual = len(re.findall(r'class="work actual', seen.page.text))
    parts = len(jobs.load(seen.world.shop, seen.job).sheet["parts"])
    spans = board.planned_spans(seen.world.shop, jobs.load(seen.world.shop, seen.job))

    assert planned == actual == parts
    assert len(spans) == len(jobs.load(seen.world.shop, seen.job).sheet["tasks"])
    assert "Second coat, the recoat hold".replace("the ", "") in seen.page.text
    assert "closest of 19" in seen.page.text


def test_an_amendment_keeps_the_first_value_readable(seen: Finished) -> None:
    """20.0 °C struck through, 21.5 °C beside it, the reason and who."""
    assert "value: <s>20 °C</s> → <strong>21.5 °C</strong>" in seen.page.text
    assert "misread" in seen.text


def test_every_step_names_who_when_and_its_evidence(seen: Finished) -> None:
    """One row for every task; the answer, the batch and the event stand in it."""
    rows = re.findall(r'<tr class="how-', seen.page.text)
    final = seen.page.text.split("Look over the whole car under the lamp</td>")[-1].split("</tr>")[0]

    assert len(rows) == len(jobs.load(seen.world.shop, seen.job).sheet["tasks"])
    assert "Lea" in final
    assert "“Even, dry, nothing left behind”" in final
    assert "photo 1" in final
    assert "Ceramic spray coating B-17, 2027-01-31" in seen.text


def test_what_the_record_cannot_show_is_printed_with_it(seen: Finished) -> None:
    """An audit names its own limits."""
    assert "What this record can’t show" in seen.text
    assert "That a step was done well." in seen.text


def test_a_self_audit_is_called_one(seen: Finished) -> None:
    """Lea checked the car, so her audit is a self-audit; Ana's is not (ISO 9000: freedom from what is audited)."""
    lea = texts(seen.world.sign_in("lea").get(f"/audit/{seen.job}"))

    assert "self-audit" in lea
    assert "self-audit" not in seen.text


def test_the_exported_lines_prove_themselves_and_give_the_same_findings(seen: Finished) -> None:
    """The download, checked without the store, recomputes exactly the findings of the page."""
    body = seen.browser.get(f"/export/{seen.job}.jsonl")

    again = export.recheck(body.text.splitlines())

    assert body.headers["Content-Disposition"] == f'attachment; filename="{seen.job}.jsonl"'
    assert [f["id"] for f in again] == [f["id"] for f in jobs.load(seen.world.shop, seen.job).findings(seen.world.now)]
    assert SECRET_NAME not in body.text


def test_the_table_export_has_a_row_for_every_event(seen: Finished) -> None:
    """CSV: a head and one line an event."""
    import csv
    import io

    body = seen.browser.get(f"/export/{seen.job}.csv")
    rows = list(csv.reader(io.StringIO(body.text.lstrip("\ufeff"))))

    assert body.headers["Content-Type"].startswith("text/csv")
    assert len(rows) - 1 == len(jobs.load(seen.world.shop, seen.job).log)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda t: t, "The card fits."),
        (lambda t: t.lower().replace("-", "-"), "The card fits."),
        (lambda t: t[:-1] + ("A" if t[-1] != "A" else "B"), "no longer fits the card"),
        (lambda t: t.replace(":", ":9", 1), "Events are missing"),
        (lambda t: "J-20200101-0001" + t[15:], "This card belongs to J-20200101-0001"),
        (lambda t: "what is this", "job"),
    ],
    ids=["fits", "small letters", "one letter changed", "events missing", "another job", "no card"],
)
def test_a_printed_card_is_checked_on_the_page(seen: Finished, change: object, words: str) -> None:
    """The line under the hand-over's QR fits; one changed letter, a longer record or another job does not."""
    line = re.search(r"J-\d{8}-\d{4}:\d+:[A-Z2-7]{4}(-[A-Z2-7]{4}){3}", seen.browser.get(f"/handover/{seen.job}").text)
    assert line
    assert callable(change)

    shown = seen.browser.get(f"/audit/{seen.job}", query_string={"card": change(line[0])})

    assert shown.status_code == 200
    assert words in texts(shown)


def test_a_photo_opens_for_whoever_is_signed_in_only(seen: Finished) -> None:
    """The page's photo is a JPEG; a stranger is asked to sign in; an unknown one is told."""
    address = re.search(r'src="(/photo/[0-9a-f]{64})"', seen.page.text)
    assert address

    mine, stranger = seen.browser.get(address[1]), seen.world.app.test_client().get(address[1])

    assert mine.data[:2] == b"\xff\xd8"
    assert stranger.status_code == 302
    assert seen.browser.get("/photo/" + "0" * 64).status_code == 404


# Paper


def test_the_run_sheet_has_cautions_before_their_step_and_room_to_write(seen: Finished) -> None:
    """Printed: the fixed line, each caution above the step it belongs to, boxes for time and initials, the windows."""
    page = seen.browser.get(f"/paper/{seen.job}").text
    caution, step = page.index("A pressure jet can break the skin"), page.index("Rinse the arch and the tyre")

    assert SAFETY in texts(seen.browser.get(f"/paper/{seen.job}"))
    assert caution < step
    assert "at least 24 h and at most 48 h after “Level the panel with the short-pile towel”" in page
    assert page.count('class="box"') > 2 * len(jobs.load(seen.world.shop, seen.job).sheet["parts"])
    assert "555 0100" in page
    assert "10 L of water" in texts(seen.browser.get(f"/paper/{seen.job}"))


class _Links(HTMLParser):
    """Everything that a page would fetch."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self.scripts = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.scripts += tag == "script"
        self.found += [v or "" for k, v in attrs if k in ("src", "href", "action", "srcset", "data")]


def test_the_hand_over_file_needs_nothing_and_nobody(seen: Finished) -> None:
    """One file: no link, no script, no address to fetch; no name, plate or person; work, care dates, the fixed line."""
    answer = seen.browser.get(f"/handover/{seen.job}.html")
    links = _Links()
    links.feed(answer.text)
    told = texts(answer)

    assert "attachment" in answer.headers["Content-Disposition"]
    assert links.found == []
    assert links.scripts == 0
    assert "url(http" not in answer.text
    for secret in (SECRET_NAME, SECRET_PLATE, "Ben", "Lea", "Ana", "grey saloon"):
        assert secret not in told
    assert "Second coat" in told
    assert SAFETY in told


def test_the_first_wash_is_dated_from_the_last_coat(seen: Finished) -> None:
    """The product sheet asks for 7 days before the first wash: counted from the last time that product was used."""
    job = jobs.load(seen.world.shop, seen.job)
    uses = [t["id"] for t in job.sheet["tasks"] if any(u["product"] == "ceramic-spray" for u in t["use"])]
    last = max(job.state["done"][f"{t}#1"]["t"] for t in uses)
    seen.world.now, before = last + 7 * 24 * HOUR, seen.world.now
    day = seen.world.local(0)
    seen.world.now = before

    told = texts(seen.browser.get(f"/handover/{seen.job}"))

    assert f"{int(day[8:10])} July 2026, {day[11:]}" in told.split("First wash with shampoo")[1][:60]


def test_the_head_of_the_record_is_in_the_qr(seen: Finished) -> None:
    """An independent decoder reads from the sheet's QR exactly the head that the store holds."""
    page = seen.browser.get(f"/handover/{seen.job}.html").text

    read = json.loads(zxingcpp.read_barcodes(_drawn(page))[0].text)

    head = seen.world.shop.store.head(seen.job)
    assert (read["job"], read["n"], read["head"]) == (seen.job, head.n, head.hash)


def test_no_hand_over_sheet_before_the_release(tmp_path: Path) -> None:
    """An open job has none: the page says when it comes."""
    world = World(tmp_path)
    job = world.open_job().id
    answer = world.sign_in("ana").get(f"/handover/{job}")
    world.close()

    assert answer.status_code == 409
    assert "comes with the release" in texts(answer)


def test_a_job_that_was_just_opened_has_an_audit_too(tmp_path: Path) -> None:
    """Nothing done yet: every section has its empty state and the plan is drawn."""
    world = World(tmp_path)
    job = world.open_job().id
    told = texts(world.sign_in("ana").get(f"/audit/{job}"))
    world.close()

    empty = ("The log departs from the sheet nowhere.", "No hold has begun.", "Nothing was measured.", "not sealed yet")
    for words in (*empty, "Nothing was decided.", "Nothing was amended.", "No photo belongs to this job."):
        assert words in told


def test_a_decision_can_be_made_from_the_audit(tmp_path: Path) -> None:
    """A finding that needs a decision leads to its form; the form names the events; a refused PIN changes nothing."""
    world = World(tmp_path)
    job = world.open_job().id
    world.append(job, "done", [f"{P}/foam@car#1"])
    browser = world.sign_in("ben")
    page = browser.get(f"/audit/{job}").text
    link = re.search(r'href="(/jobs/[^"]+/decide\?about=[^"]+)"', page)
    assert link
    url = link[1].replace("&amp;", "&")
    form = texts(browser.get(url))

    wrong = browser.post(url, outcome="confirmed", reason="seen by me", decider=world.people["lea"], pin="1")
    right = browser.post(url, outcome="confirmed", reason="seen by me", decider=world.people["lea"], pin=PINS["lea"])
    after = texts(browser.get(f"/audit/{job}"))
    world.close()

    assert "Done before what must come first" in form
    assert "Proven by event 2" in form
    assert wrong.status_code == 403
    assert "seen by me" in wrong.text
    assert right.status_code == 302
    assert "Decided: confirmed, by Lea" in after
