"""The house keeps its own rules: which way imports run, who may read a clock, what is shipped."""

import ast
import re
from pathlib import Path

import pytest

from bayflow import paths

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "bayflow"

MAY_IMPORT = {
    "trade": {"trade"},
    "job": {"job", "trade"},
    "procedure": {"procedure", "job", "trade"},
    "store": {"store"},
    "shop": {"shop", "store", "procedure", "job", "trade"},
    "web": {"web", "shop", "store", "procedure", "job", "trade"},
    "commands": {"commands", "web", "shop", "store", "procedure", "job", "trade"},
}
PURE = {"trade", "job"}
PURE_MAY_USE = {"astral", "bayflow", "collections", "dataclasses", "datetime", "fractions", "functools", "graphlib",
                "hashlib", "itertools", "json", "math", "re", "statistics", "typing"}  # fmt: skip


def modules() -> list[Path]:
    return sorted(PACKAGE.rglob("*.py"))


def imported(path: Path) -> list[str]:
    """Full names that a module imports."""
    names = []
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            names += [f"{node.module}.{alias.name}" for alias in node.names]
    return names


def room(path: Path) -> str | None:
    parts = path.relative_to(PACKAGE).parts
    return parts[0] if len(parts) > 1 else None


@pytest.mark.parametrize("path", modules(), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_imports_run_one_way(path):
    """trade ← job ← procedure ← shop ← web, cli; store imports none of ours."""
    here = room(path)
    if here is None:
        return
    ours = {n.split(".")[1] for n in imported(path) if n.startswith("bayflow.") and n.split(".")[1] in MAY_IMPORT}

    assert ours <= MAY_IMPORT[here]


@pytest.mark.parametrize("path", [p for p in modules() if room(p) in PURE], ids=lambda p: p.name)
def test_the_core_is_pure(path):
    """job/ and trade/ know neither files nor Flask nor a clock."""
    assert {n.split(".")[0] for n in imported(path)} <= PURE_MAY_USE


@pytest.mark.parametrize(
    "path", [p for p in modules() if room(p) not in ("web", "commands", None)], ids=lambda p: p.name
)
def test_nothing_below_the_edges_reads_a_clock_or_makes_an_id(path):
    """Time and ids come in as arguments."""
    text = path.read_text("utf-8")

    assert not re.search(r"\btime\.time(_ns)?\(|datetime\.now\(|\buuid4\(|\butcnow\(|date\.today\(", text)


def test_a_bare_checkout_finds_its_files():
    """static/, templates/ and procedures/ are where the code looks for them."""
    assert [p.is_dir() for p in (paths.STATIC, paths.TEMPLATES, paths.LIBRARY)] == [True] * 3


def test_the_front_end_asks_no_other_host():
    """No script, style or page names an address outside the shop, XML namespaces apart."""
    found = []
    for folder in (paths.STATIC, paths.TEMPLATES):
        for path in sorted(folder.rglob("*")):
            if path.suffix in (".js", ".css", ".html", ".svg"):
                for line in path.read_text("utf-8").splitlines():
                    if re.search(r"https?://(?!www\.w3\.org/)[a-z0-9]", line):
                        found.append(f"{path.name}: {line.strip()[:80]}")

    assert found == []
