"""What the program was told at its start. Frozen: nothing changes it while it runs."""

from dataclasses import dataclass, field
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import platformdirs

DEFAULT_PORT = 8377
LOOPBACK = "127.0.0.1"
EVERY_ADDRESS = "0.0.0.0"


def default_data_dir() -> Path:
    """Where this user's pieces are kept unless the user says otherwise."""
    return Path(platformdirs.user_data_dir("ringwright", appauthor=False))


def program_version() -> str:
    """The version that is running; a checkout that was never installed is `0`."""
    try:
        return version("ringwright")
    except PackageNotFoundError:
        return "0"


@dataclass(frozen=True, slots=True)
class Settings:
    """Where to keep things and whom to answer.

    `names` are further host names that this server answers to, without or with a port.
    `ping_seconds` is how often an idle live stream says that it is alive.
    """

    data_dir: Path = field(default_factory=default_data_dir)
    host: str = LOOPBACK
    port: int = DEFAULT_PORT
    lan: bool = False
    empty: bool = False
    names: tuple[str, ...] = ()
    ping_seconds: float = 15.0

    @property
    def bind_host(self) -> str:
        """The address that the socket is bound to."""
        return EVERY_ADDRESS if self.lan else self.host
