"""The procedures that come with bayflow: each ends on every body it fits, and says what the trade asks of it."""

from datetime import UTC, datetime

import pytest

from bayflow.procedure.check import chain, fits
from bayflow.procedure.compiler import compile_sheet
from bayflow.procedure.hours import Hours
from bayflow.procedure.library import shipped
from bayflow.procedure.rehearsal import rehearse
from bayflow.procedure.step_file import text_pieces

LIBRARY = shipped()
HOURS = Hours.from_settings({
    "zone": "UTC", "staffed": {day: [["08:00", "17:00"]] for day in ("mon", "tue", "wed", "thu", "fri")},
})  # fmt: skip
START = int(datetime(2026, 7, 14, 8, tzinfo=UTC).timestamp() * 1000)
every = pytest.mark.parametrize("name", sorted(LIBRARY.procedures))


@every
def test_every_rehearsal_comes_to_its_end(name):
    """One person, usual hours: on every body that the procedure fits, nothing comes too late and nothing is left."""
    bodies = [body for body in LIBRARY.bodies if fits(LIBRARY, name, body)]
    assert bodies
    for body in bodies:
        made = compile_sheet(LIBRARY, chain(LIBRARY, name), body)
        assert [str(fault) for fault in made.faults] == []
        walked = rehearse(made.sheet, start=START, people=1, hours=HOURS, zone="UTC")
        assert walked.complete, (body, walked.fault)
        assert walked.labour_ms >= sum(task["labour_ms"] for task in made.sheet["tasks"])


@every
def test_every_step_speaks_both_languages(name):
    """English and Spanish are there for every text; the check holds this too, through `languages`."""
    procedure = LIBRARY.procedures[name]
    assert procedure.languages == ("en", "es")
    for step in procedure.steps():
        for place, text in text_pieces(step):
            assert text.languages() == {"en", "es"}, (step.id, place)


@every
def test_every_step_has_labour_and_either_a_state_or_an_answer(name):
    """Who taps says the state that was reached; a step signed with another one needs no words of its own."""
    for step in LIBRARY.procedures[name].steps():
        assert step.labour > 0, step.id
        assert step.done_says or step.answers or step.sign.by == "with", step.id
        assert step.if_wrong or step.kind not in ("check", "verify"), step.id


@pytest.mark.parametrize(
    ("name", "least", "most"),
    [
        ("arrival-full-inspection", 40, 65), ("maintenance-wash", 40, 65), ("strip-wash", 45, 65),
        ("rinseless-wash", 55, 75), ("wheels-and-arches", 35, 60), ("decontamination-and-clay", 70, 105),
        ("wax-or-sealant", 45, 80), ("layered-coating", 160, 260), ("glass", 45, 80),
        ("tyre-and-trim-dressing", 18, 30), ("interior", 160, 225), ("engine-bay", 40, 60), ("motorcycle-wash", 60, 85),
        ("arrival-known-car", 4, 12), ("machine-polishing-one-step", 215, 265),
        ("machine-polishing-two-step", 145, 175), ("headlights", 60, 85),
        ("interior-light", 50, 75), ("odour-and-ozone", 45, 70), ("coated-car-check", 70, 95),
        ("new-vehicle-preparation", 35, 60), ("soft-top", 50, 70), ("bio-and-rodents", 40, 60), ("sealant", 45, 75),
        ("spray-coating", 60, 85), ("wheel-coating", 20, 32), ("trim-coating", 20, 35), ("infrared-cure", 50, 75),
    ],
)  # fmt: skip
def test_the_labour_is_what_the_trade_reckons(name, least, most):
    """Minutes on a saloon within what the trade reckons for a medium car (from memory, common practice, no source)."""
    body = "motorcycle" if name == "motorcycle-wash" else "saloon"
    sheet = compile_sheet(LIBRARY, chain(LIBRARY, name), body).sheet
    own = sum(task["labour_ms"] for task in sheet["tasks"] if task["id"].startswith(f"{name}/"))

    assert least <= own / 60_000 <= most


def own_minutes(name, body):
    """Labour of a procedure's own steps on *body*, in minutes."""
    tasks = compile_sheet(LIBRARY, chain(LIBRARY, name), body).sheet["tasks"]
    return sum(task["labour_ms"] for task in tasks if task["id"].startswith(f"{name}/")) / 60_000


@pytest.mark.parametrize(
    ("name", "most_alike"),
    [("maintenance-wash", 1.35), ("wax-or-sealant", 1.35), ("machine-polishing-one-step", 1.35), ("glass", 1.0)],
)
def test_a_van_takes_longer_than_a_coupe_where_work_grows(name, most_alike):
    """Half as much paint again takes a third longer at least; panes of glass do not grow (sizes from memory)."""
    assert own_minutes(name, "van") >= most_alike * own_minutes(name, "coupe")
    assert own_minutes("glass", "van") < 1.1 * own_minutes("glass", "coupe")


ARRIVE, WHEELS, STRIP, CLAY = "arrival-full-inspection", "wheels-and-arches", "strip-wash", "decontamination-and-clay"
END, SURVEY, BARE = "final-inspection-and-hand-over", "thickness-survey", [ARRIVE, WHEELS, STRIP, CLAY]
JOBS = {
    "polished and coated": [*BARE, SURVEY, "machine-polishing-two-step", "layered-coating", "wheel-coating",
                            "trim-coating", "interior", "glass", "tyre-and-trim-dressing", END],
    "polished, lamps, ozone": [*BARE, "engine-bay", "headlights", SURVEY, "machine-polishing-one-step", "spray-coating",
                               "odour-and-ozone", "interior-light", END],
    "warmed by lamp": [*BARE, "infrared-cure", SURVEY, "machine-polishing-one-step", "wheel-coating", END],
    "known car": ["arrival-known-car", WHEELS, "soft-top", "maintenance-wash", "sealant",
                  "tyre-and-trim-dressing", END],
    "soft top, polished": ["arrival-known-car", WHEELS, "maintenance-wash", CLAY, SURVEY, "machine-polishing-two-step",
                           "machine-polishing-one-step", "headlights", "soft-top", END],
    "unsafe cabin": [ARRIVE, "interior", "bio-and-rodents", "odour-and-ozone", END],
    "new car": ["new-vehicle-preparation", "spray-coating", STRIP, CLAY],
    "coated car": ["coated-car-check", "arrival-known-car", "interior-light", "tyre-and-trim-dressing", END],
}  # fmt: skip


@pytest.mark.parametrize("turned", [False, True], ids=["asked", "reversed"])
@pytest.mark.parametrize("job", JOBS)
def test_whole_jobs_come_to_their_end_in_whatever_order_they_are_asked_for(job, turned):
    """What a shop sells together merges without a fault, asked for forwards or backwards, and two people finish it."""
    made = compile_sheet(LIBRARY, JOBS[job][::-1] if turned else JOBS[job], "saloon")
    assert [str(fault) for fault in made.faults] == []
    assert rehearse(made.sheet, start=START, people=2, hours=HOURS, zone="UTC").complete


def test_a_layered_coating_keeps_its_car_overnight():
    """Twelve hours of first cure after the last panel: begun in the morning, it is looked at on the next one."""
    sheet = compile_sheet(LIBRARY, chain(LIBRARY, "layered-coating"), "saloon").sheet
    walked = rehearse(sheet, start=START, people=1, hours=HOURS, zone="UTC")

    assert walked.hand_over is not None
    assert datetime.fromtimestamp(walked.hand_over / 1000, UTC).date().isoformat() == "2026-07-15"


def test_nothing_is_waxed_or_dressed_on_a_motorcycle():
    """Wax or dressing on seat, tyre or disc makes a rider fall: no procedure that a motorcycle may have does either."""
    for name in LIBRARY.procedures:
        if fits(LIBRARY, name, "motorcycle"):
            tasks = compile_sheet(LIBRARY, chain(LIBRARY, name), "motorcycle").sheet["tasks"]
            assert not [task["id"] for task in tasks if {"protect", "dress", "coat"} & set(task["traits"])]


def test_the_day_of_a_damp_carpet_is_bounded():
    """Extraction to dry: at least four hours by common practice, and an alarm before mould may start."""
    tasks = compile_sheet(LIBRARY, chain(LIBRARY, "interior"), "saloon").sheet["tasks"]
    (dry,) = [task for task in tasks if "dried" in task["traits"]]
    (hold,) = dry["holds"]

    assert (hold["least"], hold["most"]) == (4 * 3_600_000, 24 * 3_600_000)
