"""Letting tablets and phones in: a code to type or a token to scan, each good once.

Wrong codes slow the device that sends them down; nobody is ever shut out for good. After many
wrong ones from anywhere the code is replaced, so that it cannot be found by trying.
"""

import hmac
import secrets
import threading
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from server.store import devices
from server.store.database import Store
from server.store.devices import Device

GOOD_FOR = timedelta(minutes=10)
CODE_DIGITS = 6
FREE_TRIES = 3
LONGEST_WAIT = timedelta(seconds=60)
TRIES_PER_CODE = 20
COOKIE = "ringwright_device"
COOKIE_SECONDS = 400 * 24 * 3600  # as long as browsers keep one
_TOKEN_BYTES = 16
_REMEMBERED_CALLERS = 1000


@dataclass(frozen=True, slots=True)
class Offer:
    """What lets one device in: digits to type, a token to scan, until a moment."""

    code: str
    token: str
    until: datetime


class WrongCode(Exception):  # noqa: N818
    """Not the code, or not any more."""


class TooSoon(Exception):  # noqa: N818
    """Too many wrong codes from there; `wait` is how long until the next is looked at."""

    def __init__(self, wait: timedelta) -> None:
        super().__init__(f"Wait {wait.total_seconds():.0f} s before the next try.")
        self.wait = wait


@dataclass(slots=True)
class _Tries:
    wrong: int
    not_before: datetime


class Pairing:
    """The open offer and the devices that are in. `clock` gives the aware moment."""

    def __init__(self, store: Store, clock: Callable[[], datetime]) -> None:
        self._store = store
        self._clock = clock
        self._lock = threading.Lock()
        self._tries: dict[str, _Tries] = {}
        self._wrong_for_this_code = 0
        self._heard_at: datetime | None = None
        self._offer = self._new_offer()
        with store.read() as session:
            self._devices = devices.devices_by_digest(session)

    def offer(self) -> Offer:
        """The open offer; a new one when the last was used or has run out."""
        with self._lock:
            if self._clock() >= self._offer.until:
                self._offer = self._new_offer()
            return self._offer

    def redeem(self, said: str, caller: str, name: str) -> tuple[Device, str]:
        """Let a device in for the right code or token; gives the secret for its cookie.

        `caller` is the address that is slowed down. Raises WrongCode or TooSoon.
        """
        now = self._clock()
        with self._lock:
            self._assert_may_try(caller, now)
            if not self._is_right(said.strip(), now):
                self._count_wrong(caller, now)
                raise WrongCode("This is not the code that is shown now.")
            self._tries.pop(caller, None)
            self._offer = self._new_offer()
        with self._store.write() as session:
            device, secret = devices.pair_device(session, name, now)
        self._devices[devices.digest(secret)] = device
        self.heard()
        return device, secret

    @property
    def heard_at(self) -> datetime | None:
        """When a device that is in last spoke over the network; None if none has."""
        return self._heard_at

    def heard(self) -> None:
        """Remark that a device that is in speaks over the network."""
        self._heard_at = self._clock()

    def device_of(self, secret: str | None) -> Device | None:
        """Whose secret this is; None for nobody's."""
        return self._devices.get(devices.digest(secret)) if secret else None

    def devices(self) -> list[Device]:
        """The devices that are in, last paired first."""
        return sorted(self._devices.values(), key=lambda device: device.paired_at, reverse=True)

    def revoke(self, device_id: str) -> bool:
        """Shut a device out, at once; False when it is not in."""
        with self._store.write() as session:
            known = devices.revoke_device(session, device_id, self._clock())
        self._devices = {
            digest: device for digest, device in self._devices.items() if device.id != device_id
        }
        return known

    def _new_offer(self) -> Offer:
        self._wrong_for_this_code = 0
        code = "".join(secrets.choice("0123456789") for _ in range(CODE_DIGITS))
        return Offer(code, secrets.token_urlsafe(_TOKEN_BYTES), self._clock() + GOOD_FOR)

    def _is_right(self, said: str, now: datetime) -> bool:
        digits = "".join(character for character in said if character not in " -")
        heard, right_code = digits.encode(), self._offer.code.encode()
        is_code = hmac.compare_digest(heard, right_code)
        is_token = hmac.compare_digest(said.encode(), self._offer.token.encode())
        return (is_code or is_token) and now < self._offer.until

    def _assert_may_try(self, caller: str, now: datetime) -> None:
        tries = self._tries.get(caller)
        if tries is not None and now < tries.not_before:
            raise TooSoon(tries.not_before - now)

    def _count_wrong(self, caller: str, now: datetime) -> None:
        if len(self._tries) >= _REMEMBERED_CALLERS:
            self._tries.pop(next(iter(self._tries)))
        tries = self._tries.setdefault(caller, _Tries(0, now))
        tries.wrong += 1
        if tries.wrong >= FREE_TRIES:
            wait = timedelta(seconds=2 ** min(tries.wrong - FREE_TRIES + 1, 10))
            tries.not_before = now + min(wait, LONGEST_WAIT)
        self._wrong_for_this_code += 1
        if self._wrong_for_this_code >= TRIES_PER_CODE:
            self._offer = self._new_offer()
