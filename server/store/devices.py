"""Devices that were let in, and those that were shut out again."""

import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, select

from server.store.tables import DeviceRow

_SECRET_BYTES = 32


@dataclass(frozen=True, slots=True)
class Device:
    """A paired device; the time is aware."""

    id: str
    name: str
    paired_at: datetime


def digest(secret: str) -> str:
    """By what a secret is known here: whoever reads the database cannot speak as the device."""
    return hashlib.sha256(secret.encode()).hexdigest()


def pair_device(session: Session, name: str, now: datetime) -> tuple[Device, str]:
    """Let a device in; gives the secret that it must keep, which is not kept here."""
    secret = secrets.token_urlsafe(_SECRET_BYTES)
    row = DeviceRow(
        id=secrets.token_hex(6),
        name=name,
        secret_sha256=digest(secret),
        paired_at=now,
    )
    session.add(row)
    session.flush()
    return _device(row), secret


def list_devices(session: Session) -> list[Device]:
    """The devices that may come in, last paired first."""
    return [_device(row) for row in _let_in(session)]


def devices_by_digest(session: Session) -> dict[str, Device]:
    """The devices that may come in, by the digest of their secret."""
    return {row.secret_sha256: _device(row) for row in _let_in(session)}


def revoke_device(session: Session, device_id: str, now: datetime) -> bool:
    """Shut a device out; False when no such device is let in."""
    row = session.get(DeviceRow, device_id)
    if row is None or row.revoked_at is not None:
        return False
    row.revoked_at = now
    session.add(row)
    session.flush()
    return True


def _let_in(session: Session) -> list[DeviceRow]:
    query = (
        select(DeviceRow)
        .where(col(DeviceRow.revoked_at).is_(None))
        .order_by(col(DeviceRow.paired_at).desc())
    )
    return list(session.exec(query))


def _device(row: DeviceRow) -> Device:
    return Device(id=row.id, name=row.name, paired_at=row.paired_at)
