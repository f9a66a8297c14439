"""The shelf: bottles counted down by what finished steps use, put right by hand; told before a job, and to phones."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from office_world import World, texts

from bayflow.shop import jobs, stock
from bayflow.shop.stock import Bottle, counted_down

JOB = {"procedure": "two-coat-protection", "confirmed": ""}


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    made = World(tmp_path)
    yield made
    made.close()


def bottle(name: str, ml: int, since: int = 0, product: str = "soap", **other: str) -> Bottle:
    """A bottle of these tests."""
    return Bottle(id=name, product=product, batch="", ml=ml, since=since, expiry="", opened=other.get("opened", ""),
                  open_days=0)  # fmt: skip


def lefts(found: list[Bottle]) -> dict[str, int]:
    """What is left by bottle."""
    return {one.id: one.left for one in found}


def test_the_opened_bottle_is_emptied_first_and_what_is_older_than_a_look_does_not_count() -> None:
    """300 of 500: the opened one gives 200, the next 100; a use before the bottle stood there takes nothing."""
    found = counted_down(
        [bottle("new", 500), bottle("open", 200, opened="2026-07-01")], [(5, "soap", 250), (9, "soap", 50)]
    )
    assert lefts(found) == {"open": 0, "new": 400}
    assert lefts(counted_down([bottle("a", 500, since=10)], [(9, "soap", 100), (10, "soap", 30), (11, "wax", 7)])) == {
        "a": 470
    }
    assert [one.opened for one in counted_down([bottle("a", 500)], [(0, "soap", 1)])] == ["1970-01-01"]


@given(
    st.lists(st.tuples(st.integers(0, 900), st.integers(0, 20)), max_size=5),
    st.lists(st.tuples(st.integers(0, 30), st.sampled_from(["soap", "wax"]), st.integers(0, 300)), max_size=12),
)
def test_nothing_is_used_twice_and_nothing_becomes_more(
    kept: list[tuple[int, int]], uses: list[tuple[int, str, int]]
) -> None:
    """No bottle is below 0 or above what was in it; no more is taken than was used."""
    written = [bottle(str(n), ml, since) for n, (ml, since) in enumerate(kept)]
    found = counted_down(written, uses)

    assert all(0 <= one.left <= one.ml for one in found)
    taken = sum(one.ml - one.left for one in found)
    assert taken <= sum(ml for _, product, ml in uses if product == "soap")
    assert all(one.left == one.ml for one in counted_down(written, [use for use in uses if use[1] == "wax"]))


def test_a_bottle_counts_down_with_a_job_and_is_told_before_the_next(world: World) -> None:
    """100 mL of the coating; a whole saloon takes the sum of the sheet's own amounts."""
    browser = world.sign_in("ana")
    kept = browser.post("/stock/new", product="ceramic-spray", batch="B-17", size="100 mL", expiry="", open_days="")
    assert kept.status_code == 302
    (kind,) = stock.shelf(world.shop, now=world.now)
    assert (kind.left, kind.opened) == (100, "")
    job = world.open_job().id
    world.walk(job, until="before-second")
    spent = sum(ml for _, name, ml in stock.used(jobs.load(world.shop, job)) if name == "ceramic-spray")
    assert 0 < spent

    (kind,) = stock.shelf(world.shop, now=world.now)
    assert kind.left == max(0, 100 - spent)
    assert kind.opened == "2026-07-14"
    page = texts(browser.post("/jobs/new", vehicle=world.car.id, place="", **JOB))
    sheet = jobs.load(world.shop, job).sheet
    whole = sum(u["ml"] for t in sheet["tasks"] for u in t["use"] if u["product"] == "ceramic-spray")
    assert f"needs {whole} mL, about {kind.left} mL left." in page
    looked = browser.post(f"/stock/{kind.id}", left="1 L", expiry="", opened="", open_days="", gone="")
    assert looked.status_code == 302
    assert "about 1 L left" in texts(browser.get("/stock"))
    assert "of it stands on the shelf" in texts(
        browser.get("/products/ceramic-spray/label?strength=as+it+comes&vessel=bottle&volume=100+mL&draw=")
    )


def test_a_bottle_open_for_too_long_is_told_to_the_phones(world: World) -> None:
    """Opened 1 June, keeps 30 days: on 1 July it may still be used, on 14 July not; one past its date neither."""
    browser = world.sign_in("ben")
    browser.post("/stock/new", product="panel-wipe", batch="P-1", size="1 L", expiry="", open_days="30")
    browser.post("/stock/new", product="strip-shampoo", batch="", size="1 L", expiry="2026-07-13", open_days="")
    wipe = next(one for one in stock.shelf(world.shop, now=world.now) if one.product == "panel-wipe")
    browser.post(f"/stock/{wipe.id}", left="1 L", expiry="", opened="2026-06-01", open_days="30", gone="")

    assert stock.for_phones(world.shop, now=world.now) == {
        "panel-wipe": [["P-1", "opened", "2026-06-01"]], "strip-shampoo": [["", "expired", "2026-07-13"]],
    }  # fmt: skip
    assert "P-1 has been open since 2026-06-01, longer than the 30 days" in texts(browser.get("/stock"))
    assert "a bottle was to be used by 2026-07-13." in texts(browser.get("/stock"))
    assert stock.for_phones(world.shop, now=world.now - 13 * 86_400_000) == {}
    browser.post(f"/stock/{wipe.id}", left="0 mL", expiry="", opened="", open_days="", gone="y")
    assert "P-1" not in texts(browser.get("/stock"))


def test_a_product_sheet_says_how_long_it_keeps(world: World) -> None:
    """Thirty days by the sheet where nobody typed another number."""
    sheet = world.shop.library / "products" / "panel-wipe.yaml"
    lines = [line for line in sheet.read_text("utf-8").splitlines() if not line.startswith("opened:")]
    sheet.write_text("\n".join([*lines, "opened: 30 d", ""]), "utf-8")
    world.shop.cache.library = None
    browser = world.sign_in("ben")
    for days in ("", "7"):
        browser.post("/stock/new", product="panel-wipe", batch="", size="1 L", expiry="", open_days=days)

    assert sorted(one.open_days for one in stock.shelf(world.shop, now=world.now)) == [7, 30]


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ({"size": "much"}, "Amount:"), ({"size": "2000 L"}, "from 1 mL to 1000 L"),
        ({"expiry": "soon"}, "a date such as"),
        ({"open_days": "a yr"}, "a whole number"), ({"open_days": "4000"}, "from 0 to 3650"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_what_would_be_right(world: World, typed: dict[str, str], why: str) -> None:
    """The form keeps what was typed."""
    sent = {"product": "panel-wipe", "batch": "", "size": "1 L", "expiry": "", "open_days": ""} | typed
    answer = world.sign_in("ben").post("/stock/new", **sent)

    assert answer.status_code == 422
    assert why in texts(answer)
    assert world.sign_in("ben").get("/stock/b-nothing").status_code == 404
