"""A kept piece as one archive that any program opens."""

import io
import json
import zipfile
from datetime import UTC, datetime
from pathlib import Path

from exports_pieces import goblet

from server.exports.archive import PhotoFile, piece_zip

NOW = datetime(2026, 5, 2, 18, 0, 30, tzinfo=UTC)


def test_drawing_ledger_and_photos_are_in_it(tmp_path: Path) -> None:
    picture = tmp_path / "any.jpg"
    picture.write_bytes(b"\xff\xd8picture")
    photo = PhotoFile("ab" * 32, picture)
    lines = [{"id": "e1", "seq": 1, "note": "Jürgen’s ‏שלום"}]
    document = {**goblet(), "name": "Schüssel 😀"}
    content = piece_zip(document, lines, [photo, photo], NOW)
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        assert archive.testzip() is None
        assert sorted(archive.namelist()) == [
            "ledger.json",
            f"photos/{'ab' * 32}.jpg",
            "piece.json",
        ]
        assert json.loads(archive.read("piece.json")) == document
        assert json.loads(archive.read("ledger.json")) == {"items": lines}
        assert archive.read(f"photos/{'ab' * 32}.jpg") == b"\xff\xd8picture"
        assert archive.getinfo("piece.json").date_time == (2026, 5, 2, 18, 0, 30)


def test_a_clock_gone_wrong_is_no_obstacle() -> None:
    for year in (1970, 9999):
        content = piece_zip(goblet(), [], [], datetime(year, 1, 1, tzinfo=UTC))
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            assert sorted(archive.namelist()) == ["ledger.json", "piece.json"]
