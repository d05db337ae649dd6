"""The tables. They refer to one another, so they stand together."""

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import JSON, Column, Dialect, ForeignKey, Index, Integer, String, TypeDecorator
from sqlmodel import Field, SQLModel


class UtcTime(TypeDecorator[datetime]):
    """An aware moment, kept as text in UTC with microseconds, so that text order is time order."""

    impl = String
    cache_ok = True

    def process_bind_param(
        self,
        value: datetime | None,
        dialect: Dialect,  # noqa: ARG002
    ) -> str | None:
        """To text; raises ValueError for a moment without an offset."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a moment without an offset cannot be kept")
        return value.astimezone(UTC).isoformat(timespec="microseconds")

    def process_result_value(
        self,
        value: Any,
        dialect: Dialect,  # noqa: ARG002
    ) -> datetime | None:
        """From text."""
        return None if value is None else datetime.fromisoformat(value)


class Kept(SQLModel, table=True):
    """Something kept on a shelf: piece, rack item or shop. Archived, never deleted."""

    __tablename__ = "kept"
    __table_args__ = (Index("ix_kept_shelf_changed_at", "shelf", "changed_at"),)

    id: str = Field(primary_key=True)
    shelf: str
    revision: int
    name: str
    created_at: datetime = Field(sa_column=Column(UtcTime, nullable=False))
    changed_at: datetime = Field(sa_column=Column(UtcTime, nullable=False))
    archived_at: datetime | None = Field(default=None, sa_column=Column(UtcTime))


class Revision(SQLModel, table=True):
    """One saved state of a kept thing. Written once; the database refuses to change it."""

    __tablename__ = "revisions"

    kept_id: str = Field(
        sa_column=Column(
            String, ForeignKey("kept.id", name="fk_revisions_kept_id"), primary_key=True
        )
    )
    revision: int = Field(primary_key=True)
    document: dict[str, Any] = Field(sa_column=Column(JSON, nullable=False))
    saved_at: datetime = Field(sa_column=Column(UtcTime, nullable=False))
    device: str | None = None


class LedgerRow(SQLModel, table=True):
    """One line of the ledger. Written once; the database refuses to change it."""

    __tablename__ = "ledger"
    __table_args__ = (Index("ix_ledger_piece_seq", "piece", "seq"), {"sqlite_autoincrement": True})

    seq: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True))
    id: str = Field(unique=True)
    piece: str = Field(
        sa_column=Column(String, ForeignKey("kept.id", name="fk_ledger_piece"), nullable=False)
    )
    part: str | None = None
    kind: str
    subject: str
    at: datetime = Field(sa_column=Column(UtcTime, nullable=False))
    received_at: datetime = Field(sa_column=Column(UtcTime, nullable=False))
    note: str | None = None
    device: str | None = None
    undoes: str | None = Field(
        default=None, sa_column=Column(String, ForeignKey("ledger.id", name="fk_ledger_undoes"))
    )
    seen_seq: int | None = None
    data: dict[str, Any] = Field(sa_column=Column(JSON, nullable=False))
    at_said: str | None = None


class DeviceRow(SQLModel, table=True):
    """A tablet or phone that was let in. Its secret is known here only by its digest."""

    __tablename__ = "devices"

    id: str = Field(primary_key=True)
    name: str
    secret_sha256: str = Field(unique=True)
    paired_at: datetime = Field(sa_column=Column(UtcTime, nullable=False))
    revoked_at: datetime | None = Field(default=None, sa_column=Column(UtcTime))


class Mark(SQLModel, table=True):
    """A remark of the program about its own state: who wrote last, when the clock was last seen."""

    __tablename__ = "marks"

    name: str = Field(primary_key=True)
    value: str
