"""For tests of the real program: started as a user starts it, ended as a system ends it."""

import json
import re
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

ADDRESS_LINE = re.compile(r"ringwright: http://(.+):(\d+)/\n")
START_SECONDS = 60


class Served:
    """A server that answers. `host` and `port` are the ones that it printed."""

    def __init__(self, host: str, port: int) -> None:
        self.host, self.port = host, port

    @property
    def url(self) -> str:
        """Where it answers, without a trailing slash."""
        return f"http://{self.host}:{self.port}"

    def ask(self, method: str, path: str, body: Any = None) -> tuple[int, Any]:
        """One request on a connection of its own; gives status and JSON."""
        data = None if body is None else json.dumps(body).encode()
        request = urllib.request.Request(self.url + path, data, method=method)
        request.add_header("content-type", "application/json")
        try:
            with urllib.request.urlopen(request, timeout=20) as reply:
                return reply.status, json.load(reply)
        except urllib.error.HTTPError as refused:
            return refused.code, json.load(refused)

    def stream(self, after: int = 0) -> socket.socket:
        """A live stream, opened and heard from."""
        connection = socket.create_connection((self.host, self.port), timeout=20)
        connection.sendall(
            f"GET /api/live HTTP/1.1\r\nHost: {self.host}:{self.port}\r\n"
            f"Last-Event-ID: {after}\r\n\r\n".encode()
        )
        assert connection.recv(4096).startswith(b"HTTP/1.1 200")
        return connection


class Running(Served):
    """The program started as a user starts it."""

    def __init__(self, process: "subprocess.Popen[str]", host: str, port: int) -> None:
        super().__init__(host, port)
        self.process = process

    def kill(self) -> None:
        """End it as a power cut would."""
        self.process.send_signal(signal.SIGKILL)
        self.process.communicate(timeout=20)


def ringwright(*arguments: str) -> list[str]:
    """The command line of the program, with the Python that runs the tests."""
    return [sys.executable, "-m", "server", *arguments]


def start(data: Path, *arguments: str, port: int = 0) -> Running:
    """Start it and wait for the line with its address."""
    process = subprocess.Popen(
        ringwright("--data", str(data), "--port", str(port), *arguments),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    line = process.stdout.readline()
    found = ADDRESS_LINE.fullmatch(line)
    if not found:
        process.kill()
        raise AssertionError(f"no address: {line!r} {process.communicate()}")
    return Running(process, found[1].strip("[]"), int(found[2]))


@contextmanager
def running(data: Path, *arguments: str, port: int = 0) -> Iterator[Running]:
    """A server for the length of a `with`; whatever happens, it is gone after."""
    server = start(data, *arguments, port=port)
    try:
        yield server
    finally:
        server.process.kill()
        server.process.communicate(timeout=20)
