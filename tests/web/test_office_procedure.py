"""A procedure to read in the office, the drawings on paper and on a job's page, and what a phone calls what is worn."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from office_world import World, texts

from bayflow.paths import STATIC
from bayflow.procedure.words_of_trade import PPE
from bayflow.shop import people, settings


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    made = World(tmp_path)
    yield made
    made.close()


def test_a_procedure_can_be_read_before_it_is_approved(world: World) -> None:
    """Steps with caution, drawing, what to take, wait with its source, limits; found from the list."""
    browser = world.sign_in("ana")
    answer = browser.get("/procedures/read?path=layered-coating.yaml")
    told = texts(answer)

    assert 'href="/procedures/read?path=layered-coating.yaml"' in browser.get("/procedures").text
    for words in (
        "Panel temperature: 15 °C to 30 °C", "DANGER Highly flammable", "2 mL Ceramic base coating",
        "at least 1 min and at most 3 min after “Spread the coating in crosses, half a panel at a time” (label)",
        "until a lead decides", "Another person looks.",
    ):  # fmt: skip
        assert words in told
    assert 'src="data:image/svg+xml,%3Csvg' in answer.text
    assert 'alt="A panel done in two halves.' in answer.text


def test_cautions_of_a_procedure_begin_with_the_reader_s_signal_word(world: World) -> None:
    """Danger is Peligro on a Spanish label (Regulation 1272/2008)."""
    settings.change(world.shop, {"langs": ["es", "en"]}, by=world.people["ana"], now=world.now)
    people.change(world.shop, world.people["ben"], lang="es", by=world.people["ana"], now=world.now)
    told = texts(world.sign_in("ben").get("/procedures/read?path=layered-coating.yaml"))

    assert "PELIGRO" in told
    assert "DANGER" not in told


@pytest.mark.parametrize("path", ["nothing.yaml", "../secret", "", "bodies/saloon.yaml"])
def test_what_is_no_procedure_is_said_with_a_way_out(world: World, path: str) -> None:
    """404 and a sentence, for a body's file and for a path that leads away too."""
    answer = world.sign_in("ana").get(f"/procedures/read?path={path}")

    assert (answer.status_code, "go back to Procedures" in texts(answer)) == (404, True)


def test_drawings_are_on_paper_and_on_the_jobs_page(world: World) -> None:
    """The run sheet and the page show each drawing where its step is, as an image that can load nothing."""
    browser, job = world.sign_in("ana"), world.open_job()

    for page in (browser.get(f"/paper/{job.id}").text, browser.get(f"/jobs/{job.id}").text):
        shown = re.findall(r'<img class="how" src="(data:image/svg\+xml,%3Csvg)[^"]*" alt="([^"]+)"', page)
        assert len(shown) == 7
        assert any("Two buckets, each with a grit guard." in words for _, words in shown)


@pytest.mark.parametrize("lang", ["en", "es"])
def test_the_phone_has_a_word_and_a_drawing_for_whatever_is_worn(lang: str) -> None:
    """No procedure can ask for equipment that the phone shows as a bare blue disc with a file's word."""
    words = (STATIC / f"js/app/words/{lang}.js").read_text("utf-8")
    drawn = (STATIC / "js/app/ppe.js").read_text("utf-8")

    assert [kind for kind in PPE if f'"ppe.{kind}": "' not in words] == []
    assert [kind for kind in PPE if not re.search(rf'^  "?{kind}"?: "M', drawn, re.MULTILINE)] == []
