"""Forms of the office. Every form keeps what was typed and says in a sentence what is wrong.

`attempt` runs a use case and turns its refusals into sentences on the form.
"""

from collections.abc import Callable, Iterable
from typing import Any, TypeVar

from flask_wtf import FlaskForm
from wtforms import (
    BooleanField,
    HiddenField,
    PasswordField,
    RadioField,
    SelectField,
    SelectMultipleField,
    StringField,
    TextAreaField,
)
from wtforms.fields.choices import SelectChoice
from wtforms.validators import DataRequired, InputRequired, Length, Optional
from wtforms.widgets import CheckboxInput, ListWidget

from bayflow.shop.errors import Invalid, Refused, ShopError
from bayflow.web.errors import STATUS

T = TypeVar("T")


def status_of(no: Exception) -> int:
    """The HTTP status of a refusal, from the one table."""
    return next((STATUS[kind] for kind in type(no).__mro__ if kind in STATUS), 400)


def sentence(words: str) -> str:
    """*words* with a capital and a full stop; a file's name at its head stays as it is written."""
    words = words.strip()
    head = words.split(" ", 1)[0].rstrip(".")
    words = words if any(c in head for c in "./_") else words[:1].upper() + words[1:]
    return words if not words or words[-1] in ".!?" else f"{words}."


def reasons(no: ShopError) -> list[str]:
    """Every reason of a refusal, as sentences."""
    if isinstance(no, Invalid):
        return [sentence(f) for f in no.faults]
    if isinstance(no, Refused):
        return [sentence(r) for r in no.reasons]
    return [sentence(str(no))]


class OfficeForm(FlaskForm):  # type: ignore[misc]
    """Base of all forms: collects refusals, and the status to answer with."""

    status = 200
    form_errors: list[str]
    last: tuple[str, ...] = ()
    """Fields that stand at the end of the form, whatever class they come from."""

    def attempt(self, act: Callable[[], T]) -> T | None:
        """What *act* gives, or None after noting on the form why it was refused."""
        try:
            return act()
        except ShopError as no:
            self.refuse(*reasons(no), status=status_of(no))
            return None

    def refuse(self, *words: str, status: int = 422) -> None:
        """Say on the form why it was not taken."""
        self.form_errors.extend(words)
        self.status = status

    def sent(self) -> bool:
        """Was the form sent, and is every field in order? The status follows."""
        good: bool = self.validate_on_submit()
        if self.is_submitted() and not good:
            self.status = 422
        return good


class Checks(SelectMultipleField):  # type: ignore[misc]
    """Several choices, each with a box to tick."""

    widget = ListWidget(prefix_label=False)
    option_widget = CheckboxInput()


def options(pairs: Iterable[tuple[str, str]]) -> list[Any]:
    """Pairs of value and words as choices of a field."""
    return [SelectChoice(value=value, label=label) for value, label in pairs]


def text(label: str, hint: str = "", most: int = 200, need: str = "", **more: Any) -> StringField:
    """A line of text; *need* is the sentence for an empty one."""
    return StringField(label, _rules(most, need, label), description=hint, filters=[_stripped], **more)


def words(label: str, hint: str = "", most: int = 2000, need: str = "") -> TextAreaField:
    """Several lines of text."""
    return TextAreaField(label, _rules(most, need, label), description=hint, filters=[_stripped])


def pin_field(label: str = "PIN", hint: str = "", *, need: bool = True) -> PasswordField:
    """A PIN: digits on the pad, never filled in again by us. Without *need* the page asks for it only sometimes."""
    asked = InputRequired("Type the PIN.") if need else Optional()
    rules = [asked, Length(max=20, message="A PIN has 4 to 8 digits.")]
    return PasswordField(
        label, rules, description=hint, render_kw={"inputmode": "numeric", "autocomplete": "off", "maxlength": "20"}
    )


def choice(label: str, choices: Iterable[tuple[str, str]] = (), hint: str = "", **more: Any) -> SelectField:
    """One of a few, from a list."""
    more.setdefault("invalid_choice_message", "Choose one of the list.")
    return SelectField(label, choices=options(choices), description=hint, **more)


def radios(label: str, choices: Iterable[tuple[str, str]] = (), hint: str = "", **more: Any) -> RadioField:
    """One of a few, all in sight."""
    more.setdefault("invalid_choice_message", "Choose one.")
    return RadioField(label, choices=options(choices), description=hint, **more)


def checks(label: str, choices: Iterable[tuple[str, str]] = (), hint: str = "") -> Checks:
    """Any of several."""
    return Checks(label, choices=options(choices), description=hint)


def tick(label: str, hint: str = "") -> BooleanField:
    """Yes or no."""
    return BooleanField(label, description=hint)


def moment(label: str, hint: str = "", need: str = "") -> StringField:
    """A local date and time: the browser's own field."""
    rules = [InputRequired(need)] if need else [Optional()]
    return StringField(label, rules, description=hint, render_kw={"type": "datetime-local", "step": "60"})


def hidden() -> HiddenField:
    """A value that goes with the form."""
    return HiddenField()


def _rules(most: int, need: str, label: str) -> list[Any]:
    length = Length(max=most, message=f"{label}: at most {most} characters.")
    return [DataRequired(need), length] if need else [Optional(), length]


def _stripped(value: str | None) -> str:
    return (value or "").strip()
