"""`bayflow rehearse` on the command line: what it prints, its exit codes, and its refusals in sentences."""

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from bayflow.cli import main
from bayflow.paths import LIBRARY
from bayflow.shop import settings
from tests.sheets import T0
from tests.shops import Clock, make_shop, staff

START = ["--start", "2026-07-14 08:00"]


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    """Exit code, what went to the terminal, what went to the errors."""
    code = main(["rehearse", *words])
    out, err = capsys.readouterr()
    return code, out, err


def test_the_librarys_procedure_by_its_id(capsys):
    """What happens when, the holds, what decides, the hand-over; exit code 0."""
    code, out, err = run(capsys, "two-coat-protection", *START, "--people", "2")
    assert (code, err) == (0, "")
    for words in ("What happens when", "Holds", "What decides the hand-over", "hold: recoat window, 24 h"):
        assert words in out
    assert "Earliest hand-over: Thu 16 Jul" in out


def test_json_has_the_same_hand_over(capsys):
    """Instants in ms UTC; 08:00 without a zone is the shop's time, here UTC."""
    code, out, _ = run(capsys, "two-coat-protection", *START, "--json")
    plain = json.loads(out)
    assert code == 0
    assert plain["start"] == 1_784_016_000_000  # 2026-07-14T08:00:00Z
    _, words, _ = run(capsys, "two-coat-protection", "--start", "2026-07-14T10:00:00+02:00")
    when = datetime.fromtimestamp(plain["hand_over"] / 1000, tz=UTC)
    assert f"Earliest hand-over: {when:%a} {when.day} {when:%b %H:%M}" in words


def test_a_file_that_an_owner_edits_shows_its_effect(capsys, tmp_path):
    """The same procedure as a file with 36 h for 24 h: the hand-over moves, the file need not be in the library."""
    text = (LIBRARY / "two-coat-protection.yaml").read_text("utf-8")
    edited = tmp_path / "two-coat-protection.yaml"
    edited.write_text(text.replace("at_least: 24 h", "at_least: 36 h"), "utf-8")
    before = json.loads(run(capsys, "two-coat-protection", *START, "--json")[1])
    after = json.loads(run(capsys, str(edited), *START, "--json")[1])
    assert after["hand_over"] > before["hand_over"]


def test_without_a_start_it_begins_with_the_next_opening(capsys, tmp_path):
    """Hours out of a file: staffed day and night, so the next opening is now."""
    always = tmp_path / "hours.json"
    days = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
    always.write_text(json.dumps({"zone": "Asia/Tokyo", "staffed": {d: [["00:00", "24:00"]] for d in days}}), "utf-8")
    _, out, _ = run(capsys, "two-coat-protection", "--hours", str(always), "--json")
    plain = json.loads(out)
    assert plain["zone"] == "Asia/Tokyo"
    assert plain["works"][0]["start"] == plain["start"]


def test_a_job_that_cannot_be_finished_exits_1_and_says_why(capsys, tmp_path):
    """Two hours on one day of the week: the recoat window of 24 to 48 h never finds anybody there."""
    seldom = tmp_path / "hours.json"
    seldom.write_text(json.dumps({"staffed": {"tue": [["08:00", "12:00"]]}}), "utf-8")
    code, out, _ = run(capsys, "two-coat-protection", *START, "--hours", str(seldom), "--lang", "en")
    assert code == 1
    assert "It can't be finished" in out
    assert "recoat window" in out
    assert "No hand-over" in out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["two-coat-protectoin"], "did you mean 'two-coat-protection'"),
        (["two-coat-protection", "--body", "saloom"], "did you mean 'saloon'"),
        (["two-coat-protection", "--people", "0"], "1 to 20"),
        (["two-coat-protection", "--start", "tomorrow"], "2026-07-14 08:00"),
        (["two-coat-protection", "--start", "0001-01-01 00:00"], "2000 to 2100"),
        (["two-coat-protection", "--hours", "HERE/none.json"], "can't be read as JSON"),
        (["two-coat-protection", "--hours", "HERE/list.json"], "holds no object"),
        (["two-coat-protection", "--hours", "HERE/zone.json"], "is no time zone"),
        (["two-coat-protection", "--data", "HERE"], "no shop's data folder"),
        (["HERE/broken.yaml"], "broken.yaml:2:"),
        (["HERE/fault.yaml"], "fault.yaml:"),
        (["HERE/readings.yaml"], "holds no procedure"),
    ],
)
def test_what_cannot_be_rehearsed_is_refused_in_a_sentence(capsys, tmp_path, words, says):
    """Exit code 1, one message that says what would be right, nothing on the terminal."""
    fill(tmp_path)
    code, out, err = run(capsys, *[w.replace("HERE", str(tmp_path)) for w in words])
    assert (code, out) == (1, "")
    assert says in err
    assert "Traceback" not in err


def fill(folder: Path) -> None:
    """Files that are not what they should be."""
    (folder / "list.json").write_text("[]", "utf-8")
    (folder / "zone.json").write_text('{"zone": "Mars/Base"}', "utf-8")
    (folder / "broken.yaml").write_text("procedure: [\n", "utf-8")
    text = (LIBRARY / "two-coat-protection.yaml").read_text("utf-8")
    (folder / "fault.yaml").write_text(text.replace("since: level-1", "since: levle-1"), "utf-8")
    (folder / "readings.yaml").write_text((LIBRARY / "readings.yaml").read_text("utf-8"), "utf-8")


def test_a_shops_own_hours_zone_units_and_procedures_are_taken_from_its_data(capsys, tmp_path):
    """Read beside a running server: the settings as they stand, and the procedures that the owner edits."""
    shop = make_shop(tmp_path, Clock())
    try:
        by = staff(shop)["otto"]
        settings.change(
            shop, {"zone": "America/Denver", "units": "us", "langs": ["es"], "staffed": {"tue": [["07:00", "19:00"]],
                   "wed": [["07:00", "19:00"]], "thu": [["07:00", "19:00"]]}}, by=by, now=T0,
        )  # fmt: skip
        own = tmp_path / "procedures" / "two-coat-protection.yaml"
        own.write_text(own.read_text("utf-8").replace("at_least: 24 h", "at_least: 25 h"), "utf-8")
        code, out, err = run(capsys, "two-coat-protection", *START, "--data", str(tmp_path))
    finally:
        shop.store.close()
    assert (code, err) == (0, "")
    assert "(America/Denver)" in out
    assert "mar–jue 07:00–19:00" in out
    assert "68.0 °F" in out
    assert "ventana de segunda capa, 25 h" in out


def test_several_procedures_are_one_job_and_what_was_moved_is_told(capsys):
    """Coating asked for before polish and cabin: both come first, each with its rule; the release is the last."""
    asked = ("layered-coating", "interior", "machine-polishing-one-step")
    code, out, err = run(capsys, *asked, *START, "--people", "2")
    told = out.partition("Brought forward by the order rules\n")[2].splitlines()

    assert (code, err) == (0, "")
    assert any(line.startswith("  interior comes before layered-coating: a soft coating") for line in told)
    assert any("machine-polishing-one-step comes before layered-coating" in line for line in told)
    assert "after-release" not in out
    plain = json.loads(run(capsys, *asked, *START, "--people", "2", "--json")[1])
    assert {one["procedure"] for one in plain["moved"]} == {"interior", "machine-polishing-one-step"}


def test_one_of_several_that_is_not_there_is_named(capsys):
    """A slip in the second of two names says what was probably meant."""
    code, _, err = run(capsys, "layered-coating", "interor", *START)
    assert (code, err) == (1, "there is no procedure 'interor'; did you mean 'interior'?\n")
