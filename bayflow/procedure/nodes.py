"""A YAML document as plain nodes that know their line."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Scalar:
    """One value as it was typed. `plain` means that it stood there without quotes."""

    line: int
    text: str
    plain: bool


@dataclass(frozen=True)
class Items:
    """A list."""

    line: int
    items: "tuple[Node, ...]"


@dataclass(frozen=True)
class Pair:
    """A key with its value."""

    key: str
    line: int
    value: "Node"


@dataclass(frozen=True)
class Table:
    """Keys with values; every key is there once."""

    line: int
    pairs: tuple[Pair, ...]


Node = Scalar | Items | Table
