"""The command line, `bayflow COMMAND …`."""

import argparse
from collections.abc import Sequence

from bayflow import __version__
from bayflow.commands import check, demo, record, rehearse, serve


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command. Exit code 0: all is well; 1: something is wrong; 2: the command was not understood."""
    arguments = _parser().parse_args(argv)
    return int(arguments.run(arguments))


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="bayflow", description="Order, waiting and proof for a vehicle-detailing shop."
    )
    parser.add_argument("--version", action="version", version=f"bayflow {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)
    for command in (check, rehearse, demo, serve, record):
        command.add(commands)
    return parser
