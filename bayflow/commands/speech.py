"""How commands speak: lines on stdout, one sentence on stderr where something is wrong, never a traceback."""

import argparse
import sys
import time
from collections.abc import Callable, Iterable
from typing import Any

Commands = Any  # argparse keeps the type of its sub-parsers to itself
Run = Callable[[argparse.Namespace], int]


def say(lines: Iterable[str]) -> None:
    """Lines for whoever gave the command, at once."""
    sys.stdout.writelines(f"{line}\n" for line in lines)
    sys.stdout.flush()


def complain(sentence: str) -> int:
    """What is wrong, and the exit code for it."""
    sys.stderr.write(f"bayflow: {sentence}\n")
    return 1


def saying(run: Run) -> Run:
    """*run*, with what is wrong said in one line on stderr instead of a traceback."""

    def safe(arguments: argparse.Namespace) -> int:
        from bayflow.shop.errors import ShopError
        from bayflow.store.errors import StoreError

        try:
            return run(arguments)
        except (ShopError, StoreError, OSError, UnicodeDecodeError) as no:
            return complain(str(no))

    return safe


def now() -> int:
    """The computer's clock, ms UTC."""
    return time.time_ns() // 1_000_000
