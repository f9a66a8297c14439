"""Vehicle identification numbers against published samples and an independent library."""

import pytest
import vininfo
from hypothesis import given
from hypothesis import strategies as st

from bayflow.trade import vin

# 49 CFR 565.15, sample table; NHTSA, Outline for New Manufacturer Information; two public worked tables; a sample in
# wide use
SOUND = ["1G4AH59H45G118341", "1J9RP1A36A1644345", "JH2RC3605MM101581", "1FAPP64R7LH123456", "1M8GDM9AXKP042788"]


@pytest.mark.parametrize("text", SOUND)
def test_published_samples_carry_their_check_digit(text: str) -> None:
    """And lose it with one figure changed or two neighbours swapped."""
    assert vin.read(text).check_fits
    last = str((int(text[-1]) + 1) % 10)
    assert not vin.read(text[:-1] + last).check_fits


def test_a_swap_and_a_nonsense_number() -> None:
    """Places 8 and 9 of the CFR's sample swapped: the digit no longer fits; seventeen ones fit and are no VIN."""
    assert not vin.read("1G4AH59H54G118341").check_fits
    ones = vin.read("1" * 17)
    assert (ones.check_fits, ones.repeats) == (True, True)


@given(
    st.sampled_from(["1A9", "1FA", "1G4", "1J9", "1M8", "2ZZ", "JH2"]),
    st.text("ABCDEFGHJKLMNPRSTUVWXYZ0123456789", min_size=14, max_size=14),
)
def test_the_check_agrees_with_a_library(maker: str, rest: str) -> None:
    """vininfo, over any number of sound form (the library refuses the check to makers that do not use it)."""
    text = maker + rest
    assert vin.read(text).check_fits == vininfo.Vin(text).verify_checksum(check_year=False)


# place 7, place 10, year: table VII of 49 CFR 565.15 (from memory), the cycle by place 7 (73 FR 23367)
YEARS = [("1", "A", 1980), ("1", "Y", 2000), ("1", "1", 2001), ("1", "9", 2009), ("A", "A", 2010), ("A", "R", 2024),
         ("A", "9", 2039), ("A", "0", None), ("A", "U", None), ("A", "Z", None)]  # fmt: skip


@pytest.mark.parametrize(("seventh", "tenth", "year"), YEARS)
def test_the_model_year(seventh: str, tenth: str, year: int | None) -> None:
    """Thirty codes, two cycles, three characters that are never a year."""
    assert vin.read(f"1M8GDM{seventh}AX{tenth}P042788").year == year


@pytest.mark.parametrize(
    ("typed", "told"),
    [("1M8GDM9AXKP04278", "17 characters; this has 16"), ("1M8GDM9AXKPO42788", "no O"), ("", "has 0")],
)
def test_what_is_no_vin_is_refused_with_why(typed: str, told: str) -> None:
    """Length, letters."""
    with pytest.raises(ValueError, match=told):
        vin.read(typed)


def test_blanks_hyphens_and_small_letters_are_no_fault() -> None:
    """As people copy it from a plate."""
    assert vin.read(" 1m8gdm9ax-kp042788 ").text == "1M8GDM9AXKP042788"
