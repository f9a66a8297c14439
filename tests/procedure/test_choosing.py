"""Choosing the work: each entry speaks on the case it is for, and is silent on its twin."""

import pytest

from bayflow.procedure.check import fits
from bayflow.procedure.choosing import choose, minds
from bayflow.procedure.choosing_case import AIMS, FINDS, Case
from bayflow.procedure.choosing_entries import ENTRIES
from bayflow.procedure.combining import possible, together
from bayflow.procedure.compiler import compile_sheet
from bayflow.procedure.faults import errors
from bayflow.procedure.library import shipped

LIBRARY = shipped()
LAWFUL: set[tuple[str, ...]] = set()


def case(**given):
    """A case of which only *given* is said."""
    return Case(**(given | {"finds": frozenset(given.get("finds", ()))}))


# entry → a case on which it speaks, and the nearest one on which it does not
TWINS = {
    "first-visit": ({"jobs": 0}, {"jobs": 1}),
    "known-car": ({"jobs": 1}, {"jobs": 0}),
    "wash-keeps": ({"aim": "keep"}, {"aim": "keep", "finds": ["no-drain"]}),
    "no-drain-wash": ({"finds": ["no-drain"]}, {"finds": ["no-drain", "salt"]}),
    "light-dust": ({"aim": "keep", "finds": ["light-dust"]}, {"aim": "keep", "finds": ["light-dust", "salt"]}),
    "motorcycle": ({"body": "motorcycle"}, {"body": "saloon"}),
    "unknown-wax": ({"aim": "years", "finds": ["old-wax"]}, {"aim": "clean", "finds": ["old-wax"]}),
    "bonded-grit": ({"finds": ["grit"]}, {"aim": "clean"}),
    "few-swirls": ({"aim": "gloss"}, {"aim": "clean", "finds": ["swirls"]}),
    "many-swirls": ({"aim": "gloss", "finds": ["swirls"]}, {"aim": "gloss"}),
    "protect-months": ({"aim": "months"}, {"aim": "months", "indoors": False}),
    "two-coats": ({"aim": "months"}, {"aim": "years"}),
    "protect-cold": ({"aim": "months", "indoors": False}, {"aim": "months"}),
    "protect-years": ({"aim": "years"}, {"aim": "months"}),
    "winter-coming": ({"aim": "winter"}, {"aim": "keep"}),
    "coating-check": ({"card": {"protection": "coated"}, "since": {"coat": 270}},
                      {"card": {"protection": "coated"}, "since": {"coat": 269}}),
    "smeared-glass": ({"finds": ["glass-film"]}, {"aim": "keep"}),
    "dull-lenses": ({"finds": ["dull-lamps"]}, {}),
    "inside-light": ({"finds": ["soil-inside"]}, {"finds": ["soil-inside", "damp"]}),
    "inside-wet": ({"finds": ["stains-inside"]}, {"finds": ["soil-inside"]}),
    "smell-stays": ({"finds": ["smell"]}, {"finds": ["smell", "germs"]}),
    "germs-first": ({"finds": ["germs"]}, {"finds": ["smell"]}),
    "dirty-engine": ({"finds": ["engine-dirt"]}, {"aim": "keep"}),
    "dirty-hood": ({"card": {"hood": "soft-top-fabric"}, "finds": ["hood-dirt"]}, {"finds": ["hood-dirt"]}),
    "dressed-last": ({"aim": "sell"}, {"aim": "sell", "body": "motorcycle"}),
    "germs-alone": ({"finds": ["germs"]}, {}),
    "dry-smell": ({"finds": ["damp"]}, {"finds": ["smell"]}),
    "salt-rubs": ({"finds": ["salt"]}, {"finds": ["light-dust"]}),
    "nothing-runs-off": ({"finds": ["no-drain"]}, {}),
    "no-night-inside": ({"indoors": False}, {"indoors": True}),
    "soft-coat": ({"waits": {"first-wash": 1}}, {"waits": {"wipers": 1}}),
    "coat-on-coat": ({"waits": {"full-cure": 3}}, {"waits": {"first-wash": 3}}),
    "nail-catches": ({"finds": ["deep"]}, {"finds": ["swirls"]}),
    "polished-lately": ({"since": {"polish": 729}}, {"since": {"polish": 730}}),
    "polish-and-coating": ({"card": {"protection": "coated"}}, {"card": {"protection": "waxed"}}),
    "frost": ({"low_dc": 30}, {"low_dc": 31}),
    "frost-season": ({"month": 1}, {"month": 1, "low_dc": 100}),
    "cold-coat": ({"low_dc": 149}, {"low_dc": 150}),
    "salt-season": ({"month": 12}, {"month": 12, "aim": "winter"}),
    "sun-today": ({"sun": True}, {"sun": None}),
    "long-unwashed": ({"aim": "years", "since": {"wash": 90}}, {"aim": "years", "since": {"wash": 89}}),
}  # fmt: skip


def test_every_entry_has_its_case():
    """No entry without a case that triggers it and one that does not; none twice."""
    assert sorted(one.id for one in ENTRIES) == sorted(TWINS)


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda one: one.id)
def test_an_entry_speaks_on_its_case_and_is_silent_on_the_twin(entry):
    """The reason is given where it holds, and nowhere else."""
    hit, twin = (case(**given) for given in TWINS[entry.id])

    assert entry.when(hit)
    assert not entry.when(twin)


def test_every_procedure_that_an_entry_names_is_in_the_library():
    """A slip in a name would propose nothing, in silence."""
    assert {name for one in ENTRIES for name in one.procedures} <= set(LIBRARY.procedures)


def test_every_find_is_asked_by_some_entry():
    """What the page asks changes what it answers."""
    for find in FINDS:
        alone = [e.id for e in ENTRIES for aim in ("", "keep", "years", "gloss")
                 if e.when(case(finds=[find], aim=aim, card={"hood": "soft-top-fabric"}))
                 != e.when(case(aim=aim, card={"hood": "soft-top-fabric"}))]  # fmt: skip
        assert alone, find


def test_winter_is_half_a_year_later_south_of_the_equator():
    """The astronomical seasons are opposite: January is winter in the north, July in the south."""
    assert [case(month=1, south=south).winter for south in (False, True)] == [True, False]
    assert [case(month=7, south=south).winter for south in (False, True)] == [False, True]


def test_what_is_refused_is_not_proposed():
    """No drain and an aim for years: nothing wet is proposed, and the reason stands beside each."""
    chosen = choose(case(aim="years", finds=["no-drain", "old-wax"]), LIBRARY.procedures)

    assert not {"strip-wash", "decontamination-and-clay"} & set(chosen.proposed)
    assert [one.id for one in chosen.refused["strip-wash"]] == ["nothing-runs-off"]


@pytest.mark.parametrize("inside", [True, False])
@pytest.mark.parametrize("aim", AIMS)
@pytest.mark.parametrize("find", ["light-dust", "no-drain"])
def test_what_is_proposed_together_is_one_lawful_job(aim, find, inside):
    """Every aim on a saloon, with and without a drain and a dry night: the proposals compile as one job."""
    ready = [name for name in LIBRARY.procedures if fits(LIBRARY, name, "saloon")]
    chosen = possible(LIBRARY, choose(case(aim=aim, finds=[find], jobs=1, indoors=inside), ready))
    names = together(LIBRARY, chosen.proposed)
    if tuple(names) in LAWFUL:
        return  # compiled already
    LAWFUL.add(tuple(names))

    assert names
    assert [str(one) for one in errors(compile_sheet(LIBRARY, names, "saloon").faults)] == []


def test_what_cannot_be_prepared_is_refused_for_that_reason():
    """Without a drain there is no strip wash, so no layered coating either: the drain is the reason."""
    chosen = possible(LIBRARY, choose(case(aim="years", finds=["no-drain"]), LIBRARY.procedures))

    assert "layered-coating" not in chosen.proposed
    assert [one.id for one in chosen.refused["layered-coating"]] == ["nothing-runs-off"]


def test_the_day_speaks_of_the_work_that_is_opened():
    """A wash on a coating that still hardens is told; dressing on the same car is not."""
    fresh = case(waits={"first-wash": 2})

    assert [one.id for one in minds(fresh, ["maintenance-wash"])] == ["soft-coat"]
    assert minds(fresh, ["tyre-and-trim-dressing"]) == []
