"""For tests of the store: a migrated database in a folder, with things in it."""

import uuid
from datetime import UTC, datetime
from pathlib import Path

from server.craft.ledger import EntryDraft, Kind
from server.store import ledger, pieces, rack
from server.store.database import Store
from server.store.migrate import migrate

NOW = datetime(2026, 5, 2, 18, 0, 0, 123456, tzinfo=UTC)


def made_store(folder: Path) -> Store:
    """A database with the newest tables and nothing in it."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / "ringwright.db"
    migrate(path)
    return Store(path)


def drawing(name: str = "Test bowl") -> dict[str, object]:
    """A document as the store sees one: it does not look inside."""
    return {"format": "ringwright.piece", "version": 1, "name": name, "parts": []}


def draft(piece: str, kind: Kind = Kind.CUT, **more: object) -> EntryDraft:
    """A ledger line with an id of its own."""
    said: dict[str, object] = {"subject": "r1", "at": NOW, "id": str(uuid.uuid4()), **more}
    return EntryDraft(piece=piece, kind=kind, **said)  # type: ignore[arg-type]


def fill(store: Store, lines: int = 3) -> str:
    """Put a piece with two revisions, a board and some lines in; gives the piece's id."""
    with store.write() as session:
        record = pieces.create_piece(session, drawing("First"), NOW)
        pieces.save_revision(session, record.id, drawing("Second"), 1, NOW)
        rack.create_item(session, {"wood": "ash-white", "thickness_mm": 25.4}, NOW)
        for _ in range(lines):
            ledger.append(session, draft(record.id), NOW)
    return record.id
