"""SVG as text: elements with attributes only, since the pages' policy forbids inline styles. Everything is escaped."""

from typing import Any
from urllib.parse import quote

from markupsafe import Markup, escape


def el(name: str, *children: Any, **attributes: Any) -> Markup:
    """`<name …>children</name>`. `class_` is `class`, other underscores are hyphens; None leaves an attribute out."""
    shown = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{escape(number(value))}"'
        for key, value in attributes.items()
        if value is not None
    )
    inner = Markup("").join(children)
    return Markup(f"<{name}{shown}>{inner}</{name}>") if inner else Markup(f"<{name}{shown}/>")


def data_url(svg: str) -> str:
    """A whole drawing as the address of an image, which can neither run nor load anything."""
    return f"data:image/svg+xml,{quote(svg)}"


def number(value: Any) -> Any:
    """A coordinate with at most one decimal; other values as they are."""
    return f"{value:.1f}".rstrip("0").rstrip(".") if isinstance(value, float) else value


def text(x: float, y: float, words: str, **attributes: Any) -> Markup:
    """A text whose baseline starts at x, y."""
    return el("text", escape(words), x=x, y=y, **attributes)


def line(x1: float, y1: float, x2: float, y2: float, **attributes: Any) -> Markup:
    """A straight line."""
    return el("line", x1=x1, y1=y1, x2=x2, y2=y2, **attributes)


def rect(x: float, y: float, width: float, height: float, *children: Any, **attributes: Any) -> Markup:
    """A rectangle."""
    return el("rect", *children, x=x, y=y, width=width, height=height, **attributes)


def group(*children: Any, **attributes: Any) -> Markup:
    """A group of elements."""
    return el("g", *children, **attributes)


def picture(width: float, height: float, label: str, *children: Any, class_: str) -> Markup:
    """A whole picture with its description for whoever cannot see it."""
    return el("svg", *children, class_=class_, viewBox=f"0 0 {number(width)} {number(height)}", width=width,
              height=height, role="img", aria_label=label)  # fmt: skip
