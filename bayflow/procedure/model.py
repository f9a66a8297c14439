"""
What the YAML says, as frozen records that still know their line.

Read `Procedure`, then `Step`. Durations are milliseconds, temperatures and shares are in the unit of their reading
(`dc` tenths of a degree Celsius, `permille`), volumes are exact millilitres.
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

Kind = Literal["do", "check", "measure", "photo", "verify", "release"]
Each = Literal["car", "panel", "band", "corner", "side"]


@dataclass(frozen=True)
class Text:
    """The same words in one or more languages."""

    words: tuple[tuple[str, str], ...]
    line: int

    def languages(self) -> frozenset[str]:
        """Language codes in which the words are there."""
        return frozenset(language for language, _ in self.words)


@dataclass(frozen=True)
class Source:
    """The file that something was read from."""

    path: str
    sha256: str


@dataclass(frozen=True)
class Ref:
    """The name of another step (or product, or place), and where it is named."""

    name: str
    line: int

    def either(self) -> list[str]:
        """The names of which one is meant, the usual one first: `this-wash or that-wash`."""
        return self.name.split(" or ")


@dataclass(frozen=True)
class Limit:
    """What a reading must be. `reading` is a name from the readings file, or `dew_margin`."""

    reading: str
    least: int | None
    most: int | None
    line: int
    basis: str = ""


@dataclass(frozen=True)
class IfLate:
    """The way out of a window that shut: what is done again, and a word about it."""

    reopen: tuple[Ref, ...]
    note: Text | None


@dataclass(frozen=True)
class Hold:
    """A wait from the done of `since` to this step: at least, at most, or both (ms)."""

    id: str
    since: tuple[Ref, ...]
    least: int | None
    most: int | None
    if_late: IfLate | None
    why: Text | None
    basis: str | None
    kind: str
    line: int


@dataclass(frozen=True)
class Answer:
    """One state that may be found; `ok` says whether work goes on."""

    id: str
    text: Text
    ok: bool


@dataclass(frozen=True)
class Caution:
    """A message before the step: own words, or copied from the label of a product."""

    signal: str
    text: Text | None
    label_of: Ref | None
    line: int


@dataclass(frozen=True)
class Use:
    """A product used as it comes, with the amount for one place (mL)."""

    product: Ref
    ml: Fraction


@dataclass(frozen=True)
class Mix:
    """A product in water: exact millilitres of both."""

    product: Ref
    product_ml: Fraction
    water_ml: Fraction
    text: Text | None
    basis: str = ""


@dataclass(frozen=True)
class Sign:
    """What one person confirms with one tap."""

    by: Literal["once", "panel", "band", "corner", "side", "with"]
    with_step: Ref | None
    line: int


@dataclass(frozen=True)
class Step:
    """One action or one check."""

    id: str
    line: int
    kind: Kind
    each: Each
    sign: Sign
    do: Text
    only: tuple[Ref, ...] = ()
    order: str | None = None
    tools: Text | None = None
    machine: str | None = None
    """The kind of machine that is held while it lasts."""
    why: Text | None = None
    if_wrong: Text | None = None
    done_says: Text | None = None
    cautions: tuple[Caution, ...] = ()
    ppe: tuple[str, ...] = ()
    after: tuple[Ref, ...] | None = None
    beside: tuple[Ref, ...] | None = None
    holds: tuple[Hold, ...] = ()
    limits: tuple[Limit, ...] = ()
    answers: tuple[Answer, ...] = ()
    measure: tuple[Ref, ...] = ()
    photo: bool | Literal["drawn"] = False
    other_than: tuple[Ref, ...] = ()
    release: str | None = None
    use: tuple[Use, ...] = ()
    mix: tuple[Mix, ...] = ()
    labour: int = 0
    on_any_body: bool = False
    quickest: int = 0
    rescue: bool = False
    traits: tuple[str, ...] = ()
    on: tuple[Ref, ...] | None = None
    """The slots of the car that it works on; None: as its traits say."""
    needs: tuple[Ref, ...] = ()
    """It is done only where one of these surfaces is on the car."""
    picture: str | None = None
    """The drawing that shows how."""


@dataclass(frozen=True)
class Part:
    """An ordered part of a procedure."""

    id: str
    line: int
    title: Text
    order: Ref | None
    panel_by_panel: bool
    limits: tuple[Limit, ...]
    unlimited: Text | None
    steps: tuple[Step, ...]
    where: str = "car"
    survey: Literal["one reading", "one", "all"] | None = None


@dataclass(frozen=True)
class Refusal:
    """A surface on which this procedure is not done, and why."""

    surface: str
    because: Text
    line: int


@dataclass(frozen=True)
class Misfit:
    """A body on which this procedure is not done, and why."""

    body: Ref
    because: Text


@dataclass(frozen=True)
class Departure:
    """An order rule that this procedure does not keep, with the reason, and the role that decided it."""

    rule: str
    because: Text
    decided_by: str | None
    line: int


@dataclass(frozen=True)
class Procedure:
    """The approved way to do one service."""

    id: str
    line: int
    source: Source
    revision: int
    languages: tuple[str, ...]
    title: Text
    purpose: Text
    prepared_by: tuple[Ref, ...]
    refuse_when: tuple[Refusal, ...]
    limits: tuple[Limit, ...]
    parts: tuple[Part, ...]
    departs: tuple[Departure, ...] = ()
    includes: tuple[Ref, ...] = ()
    not_on: tuple[Misfit, ...] = ()

    def misfit(self, body: str) -> Misfit | None:
        """Why this procedure is not done on a car of *body*; None where it is."""
        return next((one for one in self.not_on if one.body.name == body), None)

    def steps(self) -> list[Step]:
        """All steps in the order of the file."""
        return [step for part in self.parts for step in part.steps]
