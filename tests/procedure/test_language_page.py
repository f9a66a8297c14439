"""The page that explains the language to owners: its example is sound, and it leaves no key out."""

import re

from bayflow.paths import LIBRARY
from bayflow.procedure.check import check_paths
from bayflow.procedure.hold_file import HOLD_KEYS
from bayflow.procedure.procedure_file import KEYS, PART_KEYS
from bayflow.procedure.step_file import STEP_KEYS
from bayflow.procedure.words_of_trade import HOLD_KINDS, KINDS, SIGNS, TRAITS
from bayflow.trade.units import UNITS

PAGE = (LIBRARY / "README.md").read_text("utf-8")


def test_the_example_is_sound(tmp_path):
    """The example on the page passes the check without even advice."""
    example = tmp_path / "quick-wash.yaml"
    example.write_text(re.search(r"```yaml\n(.*?)```", PAGE, re.DOTALL)[1], "utf-8")

    assert [str(fault) for fault in check_paths([example])] == []


def test_every_key_is_explained():
    """Every key of a procedure, a part, a step and a hold stands on the page, and so do their fixed words."""
    prose = re.sub(r"```.*?```", "", PAGE, flags=re.DOTALL)
    named = set(re.findall(r"[a-z_]+", " ".join(re.findall(r"`[^`]+`", prose))))

    assert {*KEYS, *PART_KEYS, *STEP_KEYS, *HOLD_KEYS, *HOLD_KINDS, *KINDS} <= named
    assert all(sign in PAGE for sign in SIGNS)


def test_every_trait_is_explained():
    """Whoever writes a procedure finds every trait that the order rules speak of, and none that they don't know."""
    table = PAGE[PAGE.index("## Traits") : PAGE.index("## A thickness survey")]
    rows = "".join(line for line in table.splitlines() if line.startswith("| ") and not line.startswith("| of"))

    assert set(re.findall(r"`([a-z-]+)`", rows)) == set(TRAITS)


def test_every_common_unit_is_shown():
    """The units that the grammar knows are on the page, the rarer ones (cup, quart, inch, millimetre) apart."""
    assert {unit for unit in UNITS if unit not in ("cup", "qt", "in", "mm")} <= set(re.findall(r"[°µ%²A-Za-z]+", PAGE))
