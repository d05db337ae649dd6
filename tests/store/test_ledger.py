"""The ledger's promises: a retry is the same line, an id is one line, nothing refers to nothing."""

import uuid
from datetime import timedelta
from pathlib import Path

import pytest
from store_help import NOW, draft, fill, made_store

from server.craft.errors import FieldError
from server.craft.ledger import EntryDraft, Kind
from server.store import ledger
from server.store.ledger import EntryConflict


def test_the_same_line_again_is_the_same_line(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    piece = fill(store, lines=0)
    said = draft(piece, Kind.CLAMPED, data={"minutes": 40}, note="warm")
    with store.write() as session:
        first, new = ledger.append(session, said, NOW)
    assert new
    for _ in range(5):
        with store.write() as session:
            again, new = ledger.append(session, said, NOW + timedelta(hours=1))
        assert (again, new) == (first, False)
    with store.read() as session:
        assert ledger.entries_for(session, piece) == [first]
        assert ledger.last_received_at(session) == NOW
    store.close()


@pytest.mark.parametrize(
    "change",
    [{"subject": "r2"}, {"note": "other"}, {"data": {"count": 2}}, {"kind": Kind.TRUED}],
)
def test_an_id_is_one_line(tmp_path: Path, change: dict[str, object]) -> None:
    store = made_store(tmp_path)
    piece = fill(store, lines=0)
    said = draft(piece)
    other: dict[str, object] = {
        name: getattr(said, name) for name in EntryDraft.__dataclass_fields__
    }
    with store.write() as session:
        ledger.append(session, said, NOW)
    with pytest.raises(EntryConflict), store.write() as session:
        ledger.append(session, EntryDraft(**{**other, **change}), NOW)  # type: ignore[arg-type]
    store.close()


def test_a_line_names_a_piece_and_an_entry_that_are_there(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    piece, other = fill(store, lines=0), fill(store, lines=1)
    with store.read() as session:
        of_other = ledger.entries_for(session, other)[0].id
    unknown = [
        (draft("nowhere"), "/piece"),
        (draft(piece, Kind.UNDONE, undoes=str(uuid.uuid4())), "/undoes"),
        (draft(piece, Kind.UNDONE, undoes=of_other), "/undoes"),
    ]
    for said, path in unknown:
        with pytest.raises(FieldError) as error, store.write() as session:
            ledger.append(session, said, NOW)
        assert error.value.path == path
    with store.read() as session:
        assert ledger.last_seq(session) == 1
    store.close()


def test_reading_on_is_in_order_and_may_be_of_one_piece(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    one, two = fill(store, lines=2), fill(store, lines=2)
    with store.write() as session:
        ledger.append(session, draft(one), NOW)
    with store.read() as session:
        assert [entry.seq for entry in ledger.entries_after(session, 0)] == [1, 2, 3, 4, 5]
        assert [entry.seq for entry in ledger.entries_after(session, 1, one)] == [2, 5]
        assert [entry.seq for entry in ledger.entries_after(session, 1, limit=2)] == [2, 3]
        assert [entry.piece for entry in ledger.entries_for(session, two)] == [two, two]
    store.close()


def test_moments_come_back_to_the_microsecond(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    piece = fill(store, lines=1)
    with store.read() as session:
        assert ledger.entries_for(session, piece)[0].at == NOW
    store.close()
