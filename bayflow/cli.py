"""The command line, `bayflow COMMAND …`: one function a command, from parsed arguments to an exit code."""

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from bayflow import __version__
from bayflow.procedure.check import check_paths
from bayflow.procedure.faults import errors


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
    _add_check(commands)
    return parser


def _add_check(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    check = commands.add_parser("check", help="check procedures, bodies and product sheets")
    check.add_argument("paths", nargs="+", type=Path, metavar="PATH", help="a file, or a folder with a library")
    check.set_defaults(run=run_check)


def run_check(arguments: argparse.Namespace) -> int:
    """`bayflow check PATH…`: print every fault; 1 if any of them is an error. Advice does not fail."""
    faults = check_paths(arguments.paths)
    for fault in faults:
        print(fault)
    wrong = len(errors(faults))
    advice = len(faults) - wrong
    print(f"{wrong} to put right, {advice} to think about", file=sys.stderr)
    return 1 if wrong else 0
