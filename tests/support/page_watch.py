"""A server in a thread and a browser before it; whatever the console complains about fails."""

import os
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import uvicorn
from fastapi import FastAPI
from playwright.sync_api import Browser, BrowserContext, Page

CHROMIUM = Path("/usr/bin/chromium")
FLAGS = [
    "--disable-dev-shm-usage",
    "--disable-gpu",
    "--enable-unsafe-swiftshader",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--host-resolver-rules=MAP shop.test 127.0.0.1",
]
TABLET: dict[str, Any] = {
    "viewport": {"width": 1180, "height": 820},
    "device_scale_factor": 1,
    "has_touch": True,
}
PHONE: dict[str, Any] = {
    "viewport": {"width": 390, "height": 844},
    "device_scale_factor": 1,
    "has_touch": True,
    "is_mobile": True,
}
SIZES = {"tablet": TABLET, "phone": PHONE}
INSECURE_NAME = "shop.test"


def chromium_flags() -> list[str]:
    """Chromium's own sandbox does not start for root."""
    return [*FLAGS, "--no-sandbox"] if os.geteuid() == 0 else FLAGS


@contextmanager
def served(app: FastAPI) -> Iterator[int]:
    """The app on a socket that was bound beforehand, so that no port is raced for."""
    sock = socket.socket()
    sock.bind(("127.0.0.1", 0))
    server = uvicorn.Server(
        uvicorn.Config(app, log_level="warning", timeout_graceful_shutdown=1, lifespan="on")
    )
    thread = threading.Thread(target=server.run, kwargs={"sockets": [sock]}, daemon=True)
    thread.start()
    try:
        while not server.started:
            assert thread.is_alive(), "the server did not start"
            time.sleep(0.01)
        yield int(sock.getsockname()[1])
    finally:
        server.should_exit = True
        thread.join(10)
        sock.close()


@dataclass
class Visitor:
    """Opens pages; `complaints` collects every console error, page error and refused resource."""

    browser: Browser
    port: int
    complaints: list[str] = field(default_factory=list)
    contexts: list[BrowserContext] = field(default_factory=list)
    allowed: tuple[str, ...] = ()

    def open(
        self,
        path: str,
        size: dict[str, Any] = TABLET,
        *,
        host: str = "127.0.0.1",
        theme: str = "light",
        **more: Any,
    ) -> Page:
        """A page on a fresh device. `theme` is light, dark or sun."""
        scheme = "dark" if theme == "dark" else "light"
        context = self.browser.new_context(**size, color_scheme=scheme, **more)
        self.contexts.append(context)
        address = f"http://{host}:{self.port}"
        if theme == "sun":
            context.add_cookies([{"name": "ringwright_theme", "value": "sun", "url": address}])
        page = context.new_page()
        page.set_default_timeout(45_000)
        page.on("console", lambda said: self._hear(said.type, said.text))
        page.on("pageerror", lambda error: self._hear("error", str(error)))
        page.goto(address + path)
        return page

    def _hear(self, kind: str, text: str) -> None:
        if kind in ("error", "warning") and not any(words in text for words in self.allowed):
            self.complaints.append(text)

    def close(self) -> None:
        """Close every page."""
        for context in self.contexts:
            context.close()
