"""The commands about a shop's data: verify, backup, restore, audit, demo."""

import re

import pytest
from sheets import DAY, T0
from shops import Clock, make_shop

from bayflow import cli
from bayflow.shop import demo, export
from bayflow.store import cards


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory):
    """A demo shop's data folder, closed, with the finished job's card line and its export."""
    root = tmp_path_factory.mktemp("commands")
    shop = make_shop(root / "data", Clock(T0))
    made = demo.make(shop, now=T0)
    line = cards.card_short(cards.card(shop.store, made.finished))
    (root / "job.jsonl").write_text(export.json_lines(shop, made.finished, now=T0 + DAY), "utf-8")
    shop.store.close()
    return root, made.finished, line


def run(capsys, *argv: str) -> tuple[int, str, str]:
    """Exit code, stdout and stderr of a command."""
    code = cli.main([str(a) for a in argv])
    said = capsys.readouterr()
    return code, said.out, said.err


def test_a_whole_shop_verifies_and_fits_its_card(folder, capsys):
    """Exit code 0 and a sentence; a card of another head is a problem."""
    root, job, line = folder

    assert run(capsys, "verify", root / "data")[0] == 0
    assert run(capsys, "verify", root / "data", "--card", line)[0] == 0
    code, out, _ = run(capsys, "verify", root / "data", "--card", line[:-4] + "AAAA")
    assert code == 1
    assert job in out


def test_backup_and_restore_round_trip(folder, tmp_path, capsys):
    """A copy proves itself, and put in the place of lost data it verifies."""
    root, _, line = folder
    assert run(capsys, "backup", root / "data", tmp_path / "copy")[0] == 0
    code, out, err = run(capsys, "restore", tmp_path / "copy", tmp_path / "back")

    assert (code, err) == (0, "")
    assert "phones send again" in out
    assert run(capsys, "verify", tmp_path / "back", "--card", line)[0] == 0
    assert (tmp_path / "back" / "procedures" / "two-coat-protection.yaml").is_file()


def test_a_damaged_backup_replaces_nothing(folder, tmp_path, capsys):
    """Restore proves first: one changed byte, and the data stays as it is."""
    root, job, _ = folder
    run(capsys, "backup", root / "data", tmp_path / "copy")
    file = next((tmp_path / "copy" / "jobs").rglob(f"{job}.jsonl"))
    data = bytearray(file.read_bytes())
    data[len(data) // 2] ^= 1
    file.write_bytes(data)
    code, _, err = run(capsys, "restore", tmp_path / "copy", tmp_path / "back")

    assert code == 1
    assert job in err
    assert not (tmp_path / "back").exists()


def test_an_export_is_audited_from_the_command_line(folder, capsys, tmp_path):
    """The findings come out with their proof; a changed file is refused with its line."""
    root, _, _ = folder
    code, out, _ = run(capsys, "audit", root / "job.jsonl")
    assert code == 0
    assert re.search(r"deviation: not-right two-coat-protection/\S+#1", out)

    text = (root / "job.jsonl").read_text("utf-8").replace('"person":"p-', '"person":"q-', 1)
    (tmp_path / "changed.jsonl").write_text(text, "utf-8")
    code, _, err = run(capsys, "audit", tmp_path / "changed.jsonl")
    assert code == 1
    assert err.startswith("bayflow: line ")


@pytest.mark.parametrize(
    "argv",
    [("verify", "{}/none"), ("verify", "{}", "--card", "no card"), ("backup", "{}/none", "{}/x"), ("audit", "{}/none"),
     ("restore", "{}/none", "{}/y"), ("demo", "--data", "{}"), ("audit", "{}")],
    ids=lambda a: " ".join(a),
)  # fmt: skip
def test_what_cannot_be_done_is_said_in_one_line(argv, tmp_path, capsys):
    """Exit code 1 and a sentence, never a traceback."""
    (tmp_path / "something").write_text("else")
    code, out, err = run(capsys, *(a.format(tmp_path) for a in argv))

    assert code == 1
    assert "Traceback" not in out + err
    assert len((out + err).strip()) > 10
