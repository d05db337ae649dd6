"""The command line: serve the shop, or print the plan of one piece file."""

import argparse
import gc
import sys
from collections.abc import Sequence
from pathlib import Path

from server.settings import DEFAULT_PORT, LOOPBACK, Settings, default_data_dir, program_version


def run(arguments: Sequence[str] | None = None) -> int:
    """Do what was asked for; returns the exit status."""
    asked = _parser().parse_args(arguments)
    if asked.command == "plan":
        from server.plan_command import print_plan

        return print_plan(asked.file)
    if asked.command in ("backup", "restore"):
        from server.copies_command import make_copy, put_back

        if asked.command == "backup":
            return make_copy(asked.data)
        return put_back(asked.data, asked.file)
    # What is read at the start stays for good: looking through it for rubbish only costs time.
    gc.disable()
    from server.serve_command import serve

    return serve(
        Settings(
            data_dir=asked.data,
            host=asked.host,
            port=asked.port,
            lan=asked.lan,
            empty=asked.empty,
            names=tuple(asked.name),
        )
    )


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="ringwright",
        description="Plan segmented woodturning, from the drawing to saw, glue and lathe.",
    )
    parser.add_argument("--version", action="version", version=f"ringwright {program_version()}")
    parser.add_argument(
        "--host", default=LOOPBACK, help="address to answer at (this computer only)"
    )
    parser.add_argument(
        "--lan", action="store_true", help="answer tablets and phones on the network"
    )
    parser.add_argument("--port", type=_port, default=DEFAULT_PORT, help="0 picks a free one")
    parser.add_argument(
        "--data", type=Path, default=default_data_dir(), help="where to keep things"
    )
    parser.add_argument("--empty", action="store_true", help="start without the demo piece")
    parser.add_argument(
        "--name", action="append", default=[], help="a further host name that leads here"
    )
    commands = parser.add_subparsers(dest="command", metavar="command")
    plan = commands.add_parser("plan", help="print the plan of a piece file as JSON")
    plan.add_argument("file", type=Path, help="a piece file, - for standard input")
    commands.add_parser("backup", help="copy the database into the folder backups")
    restore = commands.add_parser("restore", help="put a copy of the database in its place")
    restore.add_argument("file", type=Path, help="a copy, as the folder backups holds them")
    return parser


def _port(text: str) -> int:
    port = int(text)
    if not 0 <= port <= 65535:
        raise argparse.ArgumentTypeError("a port is a number from 0 to 65535")
    return port


if __name__ == "__main__":
    sys.exit(run())
