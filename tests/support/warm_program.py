"""The real program without the wait for its modules: forked off a process that has read them.

What a user starts reads its modules first, which takes seconds and has no part in what is kept.
For tests that start and end the program many times; `process_help` starts it as a user does.
"""

import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection
from multiprocessing.context import ForkServerProcess
from multiprocessing.forkserver import ensure_running
from pathlib import Path

from process_help import ADDRESS_LINE, Served

SUPPORT = Path(__file__).parent
_FORKS = multiprocessing.get_context("forkserver")
_ENDS_WITHIN_SECONDS = 20
_asking = threading.Lock()


class WarmProgram(Served):
    """A running program in a process of its own; it may be stopped or killed."""

    def __init__(self, process: ForkServerProcess, said: Connection, line: str) -> None:
        """`said` is where its words arrive, the first of them the `line` with its address."""
        found = ADDRESS_LINE.fullmatch(line)
        if not found:
            process.kill()
            raise AssertionError(f"no address: {line!r}")
        super().__init__(found[1].strip("[]"), int(found[2]))
        self._process = process
        self._said = said  # kept open, or its further words would break it

    @property
    def ended(self) -> bool:
        """Whether it is gone."""
        return self._process.exitcode is not None

    def end(self, how: int = signal.SIGTERM) -> None:
        """Send it a signal and wait until it is gone."""
        if not self.ended:
            os.kill(self._process.pid or 0, how)
            self._process.join(_ENDS_WITHIN_SECONDS)
        assert self.ended, "it did not end"
        self._said.close()

    def kill(self) -> None:
        """End it as a power cut would."""
        self.end(signal.SIGKILL)


def start_warm(data: Path, *arguments: str, port: int = 0) -> WarmProgram:
    """Fork it and wait for the line with its address."""
    _read_modules_ahead()
    said, says = _FORKS.Pipe(duplex=False)
    words = ["--data", str(data), "--port", str(port), *arguments]
    process = _FORKS.Process(target=_serve, args=(words, says), daemon=True)
    process.start()
    says.close()
    with open(said.fileno(), encoding="utf-8", closefd=False) as text:
        line = text.readline()
    return WarmProgram(process, said, line)


@contextmanager
def warm(data: Path, *arguments: str, port: int = 0) -> Iterator[WarmProgram]:
    """A program for the length of a `with`; whatever happens, it is gone after."""
    program = start_warm(data, *arguments, port=port)
    try:
        yield program
    finally:
        program.kill()


def _read_modules_ahead() -> None:
    """Let the process that forks read everything, once; the path tells it where."""
    with _asking:
        _FORKS.set_forkserver_preload(["program_modules"])
        before = os.environ.get("PYTHONPATH")
        os.environ["PYTHONPATH"] = os.pathsep.join(
            path for path in (str(SUPPORT), *sys.path) if path
        )
        try:
            ensure_running()
        finally:
            if before is None:
                del os.environ["PYTHONPATH"]
            else:
                os.environ["PYTHONPATH"] = before


def _serve(arguments: list[str], says: Connection) -> None:
    """In the forked process: what `python -m server` does, its words into the pipe."""
    # Read ahead, unless that failed; then this says why.
    import program_modules  # noqa: F401

    from server.__main__ import run

    os.dup2(says.fileno(), sys.stdout.fileno())
    sys.exit(run(arguments))
