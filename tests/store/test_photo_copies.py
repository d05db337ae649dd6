"""Photos are copied with the database, once each, and come back with it."""

import io
from pathlib import Path

import pytest
from PIL import Image
from store_help import NOW, made_store

from server.store.backup import BACKUPS, BackupFailed, back_up, restore
from server.store.photo_copies import bring_photos
from server.store.photos import PHOTOS, find_photo, keep_photo


def picture(shade: int) -> bytes:
    """A small PNG of one colour."""
    out = io.BytesIO()
    Image.new("RGB", (8, 8), (shade, 90, 40)).save(out, "PNG")
    return out.getvalue()


def test_photos_that_were_lost_come_back_with_the_copy(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    kept = [keep_photo(tmp_path, picture(shade)) for shade in (10, 20)]
    copy = back_up(store.path, NOW, "asked-for")
    assert bring_photos(tmp_path, tmp_path / BACKUPS) == 0, "each is copied once"
    store.close()
    lost = find_photo(tmp_path, kept[0].sha256, kept[0].type)
    assert lost is not None
    content = lost.read_bytes()
    lost.unlink()
    restore(copy.path, store.path, NOW)
    for photo in kept:
        assert find_photo(tmp_path, photo.sha256, photo.type) is not None
    assert lost.read_bytes() == content


def test_an_unfinished_photo_is_not_copied(tmp_path: Path) -> None:
    photo = keep_photo(tmp_path, picture(30))
    found = find_photo(tmp_path, photo.sha256, photo.type)
    assert found is not None
    found.with_suffix(".unfinished").write_bytes(b"half")
    assert bring_photos(tmp_path, tmp_path / "elsewhere") == 1
    copied = (tmp_path / "elsewhere" / PHOTOS).rglob("*.*")
    assert [file.name for file in copied] == [found.name]


def test_photos_that_cannot_be_copied_are_said(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    keep_photo(tmp_path, picture(40))
    (tmp_path / BACKUPS).mkdir(exist_ok=True)
    (tmp_path / BACKUPS / PHOTOS).write_bytes(b"a file where the folder should be")
    with pytest.raises(BackupFailed, match="photos"):
        back_up(store.path, NOW, "asked-for")
    store.close()
