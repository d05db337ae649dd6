"""A ledger line as JSON, the same in every reply and in the stream."""

import json
from datetime import UTC, datetime
from typing import Any

from server.craft.ledger import Entry
from server.live.hub import Message
from server.store import ledger
from server.store.database import Store

REPLAY_AT_ONCE = 500


def entry_json(entry: Entry) -> dict[str, Any]:
    """The contract's fields of an entry; `at` as the device wrote it, RFC 3339."""
    return {
        "id": entry.id,
        "seq": entry.seq,
        "piece": entry.piece,
        "part": entry.part,
        "kind": str(entry.kind),
        "subject": entry.subject,
        "at": entry.at_said or moment(entry.at),
        "received_at": moment(entry.received_at),
        "note": entry.note,
        "device": entry.device,
        "undoes": entry.undoes,
        "seen_seq": entry.seen_seq,
        "data": dict(entry.data),
    }


def moment(at: datetime) -> str:
    """An aware moment as RFC 3339 in UTC."""
    return at.astimezone(UTC).isoformat().replace("+00:00", "Z")


def messages_after(store: Store, seq: int, limit: int | None = None) -> list[Message]:
    """The lines after a number, ready for the wire. The session is closed on return."""
    with store.read() as session:
        entries = ledger.entries_after(session, seq, limit=limit)
    return [Message(entry.seq, json.dumps(entry_json(entry))) for entry in entries]


def newest_seq(store: Store) -> int:
    """The newest number in the ledger."""
    with store.read() as session:
        return ledger.last_seq(session)
