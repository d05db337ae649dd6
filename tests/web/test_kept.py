"""What was read stays until something is saved, and never longer."""

from datetime import UTC, datetime

import pytest
from shop_help import simple_piece

from server.store import pieces, shop
from server.web.kept import Kept

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)


class Reader:
    """Reads the shop's name for it, and counts how often it had to."""

    def __init__(self) -> None:
        self.times = 0

    def __call__(self, session, key="room"):
        self.times += 1
        return shop.shop_document(session)[key]


@pytest.fixture
def store(app):
    return app.state.store


def keep_shop(store, **document):
    with store.write() as session:
        shop.save_shop(session, document, NOON)


def test_it_is_read_once_until_something_is_saved(store):
    kept, read = Kept(store), Reader()
    keep_shop(store, room={"temperature_c": 18})
    assert [kept.get(read), kept.get(read)] == [{"temperature_c": 18}] * 2
    assert read.times == 1
    keep_shop(store, room={"temperature_c": 12})
    assert kept.get(read) == {"temperature_c": 12}
    assert read.times == 2


def test_another_question_has_an_answer_of_its_own(store):
    kept, read = Kept(store), Reader()
    keep_shop(store, room={"temperature_c": 18}, jaws=[{"name": "small"}])
    assert kept.get(read, "room") == {"temperature_c": 18}
    assert kept.get(read, "jaws") == [{"name": "small"}]


def test_what_is_saved_while_it_is_read_is_not_missed(store):
    class Interrupted(Kept):
        def _read(self, *asked):
            found = super()._read(*asked)
            if found == {"temperature_c": 18}:
                keep_shop(store, room={"temperature_c": 12})
            return found

    kept, read = Interrupted(store), Reader()
    keep_shop(store, room={"temperature_c": 18})
    assert kept.get(read) == {"temperature_c": 18}
    assert kept.get(read) == {"temperature_c": 12}


def test_nothing_there_is_an_answer_too_until_it_is_there(client, store):
    kept = Kept(store)
    assert kept.get(pieces.get_piece, "none") is None
    made = client.post("/api/pieces", json=simple_piece()).json()["id"]
    assert kept.get(pieces.get_piece, made).revision == 1
    client.delete(f"/api/pieces/{made}")
    assert kept.get(pieces.get_piece, made).archived
    assert kept.get(pieces.list_pieces) == []
