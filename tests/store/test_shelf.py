"""Kept things: every save a revision, the faster one wins, nothing is deleted."""

from datetime import timedelta
from pathlib import Path

import pytest
from store_help import NOW, drawing, made_store

from server.craft.errors import FieldError
from server.store import pieces, rack, shop
from server.store.pieces import NotKept, RevisionConflict
from server.store.shelf import new_id


def test_older_revisions_stay_as_they_were(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    with store.write() as session:
        made = pieces.create_piece(session, drawing("One"), NOW, "tablet")
        later = NOW + timedelta(minutes=5)
        saved = pieces.save_revision(session, made.id, drawing("Two"), 1, later, "phone")
    assert (saved.revision, saved.name, saved.changed_at) == (2, "Two", later)
    with store.read() as session:
        found = pieces.list_revisions(session, made.id)
        assert [(one.revision, one.document["name"], one.device) for one in found] == [
            (2, "Two", "phone"),
            (1, "One", "tablet"),
        ]
        first = pieces.get_revision(session, made.id, 1)
        assert first is not None
        assert first.document == drawing("One")
        assert pieces.get_revision(session, made.id, 3) is None
    store.close()


def test_who_was_slower_gets_both(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    with store.write() as session:
        piece = pieces.create_piece(session, drawing("One"), NOW).id
        pieces.save_revision(session, piece, drawing("Faster"), 1, NOW)
    with pytest.raises(RevisionConflict) as error, store.write() as session:
        pieces.save_revision(session, piece, drawing("Slower"), 1, NOW)
    assert error.value.current.document["name"] == "Faster"
    with pytest.raises(NotKept), store.write() as session:
        pieces.save_revision(session, "nowhere", drawing(), 1, NOW)
    store.close()


def test_archived_is_off_the_list_and_comes_back(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    with store.write() as session:
        piece = pieces.create_piece(session, drawing(), NOW).id
        assert pieces.archive_piece(session, piece, NOW).archived
    with store.read() as session:
        assert pieces.list_pieces(session) == []
        assert [one.id for one in pieces.list_pieces(session, archived=True)] == [piece]
        assert pieces.get_piece(session, piece) is not None
    with store.write() as session:
        assert not pieces.restore_piece(session, piece).archived
    with store.read() as session:
        assert [one.id for one in pieces.list_pieces(session)] == [piece]
    store.close()


def test_shelves_do_not_mix(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    with store.write() as session:
        item = rack.create_item(session, {"id": "b1", "wood": "ash-white"}, NOW)
        assert (item.id, item.kind, item.document["id"]) == ("b1", "board", "b1")
        with pytest.raises(FieldError) as error:
            rack.create_item(session, {"id": "b1", "wood": "holly"}, NOW)
        assert error.value.path == "/id"
        assert pieces.get_piece(session, "b1") is None
        with pytest.raises(NotKept):
            pieces.archive_piece(session, "b1", NOW)
    store.close()


def test_a_rack_item_keeps_its_own_id_when_replaced(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    with store.write() as session:
        item = rack.create_item(session, {"wood": "ash-white", "kind": "offcut"}, NOW)
        again = rack.replace_item(session, item.id, {"wood": "holly", "id": "other"}, 1, NOW)
    assert (again.id, again.document["id"], again.revision) == (item.id, item.id, 2)
    with store.read() as session:
        assert len(rack.list_item_revisions(session, item.id)) == 2
    store.close()


def test_the_shop_is_there_before_it_is_saved(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    with store.write() as session:
        assert shop.revision(session) == 0
        assert shop.shop_document(session)["faceplates"] == []
        shop.save_shop(session, {"faceplates": ["F1"]}, NOW)
        shop.save_shop(session, {"faceplates": ["F1", "F2"]}, NOW, if_match=1)
        with pytest.raises(RevisionConflict):
            shop.save_shop(session, {}, NOW, if_match=1)
        assert shop.shop_document(session)["faceplates"] == ["F1", "F2"]
    store.close()


@pytest.mark.parametrize(
    ("name", "begins"),
    [
        ("Orchard goblet", "orchard-goblet-"),
        ("  <script>alert(1)</script> ", "script-alert-1-script-"),
        ("../../etc/passwd", "etc-passwd-"),
        ("Ø 3½″ Ünï", "3-n-"),
    ],
)
def test_addresses_are_made_of_plain_letters(name: str, begins: str) -> None:
    made = new_id(name)
    assert made.startswith(begins)
    assert set(made) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")
    assert new_id(name) != made


def test_a_name_without_letters_still_gets_an_address() -> None:
    assert len(new_id("♥" * 10_000)) == 5
