"""Photos: proved, freed of place and device, kept once, noted in the ledger, shown again."""

import io
import uuid
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from PIL import ExifTags, Image, TiffImagePlugin
from shop_help import ledger_line


def picture(kind: str = "JPEG", size: tuple[int, int] = (60, 40), mode: str = "RGB") -> bytes:
    out = io.BytesIO()
    Image.new(mode, size, 120 if mode in "LP" else (200, 120, 40)[: len(mode)]).save(out, kind)
    return out.getvalue()


def located_picture() -> bytes:
    """A picture lying on its side that says where and with what it was taken."""
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = 6
    exif[ExifTags.Base.Make] = "A maker"
    gps = exif.get_ifd(ExifTags.IFD.GPSInfo)
    gps[ExifTags.GPS.GPSLatitudeRef] = "N"
    gps[ExifTags.GPS.GPSLatitude] = (
        TiffImagePlugin.IFDRational(52),
        TiffImagePlugin.IFDRational(5),
        TiffImagePlugin.IFDRational(27),
    )
    out = io.BytesIO()
    Image.new("RGB", (60, 40), (200, 120, 40)).save(out, "JPEG", exif=exif, comment=b"secret")
    return out.getvalue()


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_photo_is_noted_and_shown_again(client: TestClient, piece_id: str, kind: str) -> None:
    made = client.post(
        f"/api/pieces/{piece_id}/photos",
        files={"photo": ("../../x.php", picture(kind), "text/html")},
        data={"subject": "r1", "note": "first ring"},
    )
    assert made.status_code == 201, made.text
    line = made.json()
    assert (line["kind"], line["subject"], line["note"]) == ("photo", "r1", "first ring")
    assert client.get("/api/ledger").json()["items"] == [line]
    shown = client.get(f"/api/pieces/{piece_id}/photos/{line['data']['sha256']}")
    assert shown.status_code == 200
    assert shown.headers["content-type"] == line["data"]["type"] == f"image/{kind.lower()}"
    assert len(shown.content) == line["data"]["bytes"]
    assert Image.open(io.BytesIO(shown.content)).size == (60, 40)


def test_nothing_but_the_picture_is_kept(client: TestClient, piece_id: str) -> None:
    sent = located_picture()
    assert Image.open(io.BytesIO(sent)).getexif().get_ifd(ExifTags.IFD.GPSInfo)
    made = client.post(f"/api/pieces/{piece_id}/photos", files={"photo": ("a.jpg", sent)})
    shown = client.get(f"/api/pieces/{piece_id}/photos/{made.json()['data']['sha256']}").content
    kept = Image.open(io.BytesIO(shown))
    assert dict(kept.getexif()) == {}
    assert "comment" not in kept.info
    assert b"secret" not in shown
    assert kept.size == (40, 60), "the picture must stand upright"


def test_the_same_photo_sent_again_is_one_line(
    client: TestClient, piece_id: str, app: FastAPI
) -> None:
    form = {"id": str(uuid.uuid4()), "at": "2026-05-02T18:00:00+02:00"}
    replies = [
        client.post(
            f"/api/pieces/{piece_id}/photos", files={"photo": ("a.jpg", picture())}, data=form
        )
        for _ in range(3)
    ]
    assert {reply.text for reply in replies} == {replies[0].text}
    assert len(client.get("/api/ledger").json()["items"]) == 1
    photos = Path(app.state.settings.data_dir) / "photos"
    assert len([file for file in photos.rglob("*") if file.is_file()]) == 1


def test_a_photo_taken_back_is_not_shown(client: TestClient, piece_id: str) -> None:
    made = client.post(f"/api/pieces/{piece_id}/photos", files={"photo": ("a.jpg", picture())})
    assert len(client.get(f"/api/pieces/{piece_id}/photos").json()["items"]) == 1
    undo = ledger_line(piece_id, "undone", piece_id, undoes=made.json()["id"])
    assert client.post("/api/ledger", json=undo).status_code == 200
    assert client.get(f"/api/pieces/{piece_id}/photos").json()["items"] == []
    digest = made.json()["data"]["sha256"]
    assert client.get(f"/api/pieces/{piece_id}/photos/{digest}").status_code == 404


def _bomb() -> bytes:
    """A small file that says it is a picture of 10,000 million points."""
    small = bytearray(picture("PNG"))
    small[16:24] = (100_000).to_bytes(4, "big") * 2
    import zlib

    small[29:33] = zlib.crc32(bytes(small[12:29])).to_bytes(4, "big")
    return bytes(small)


@pytest.mark.parametrize(
    "sent",
    [
        b"",
        b"<svg onload='alert(1)'/>",
        b"GIF89a" + b"\0" * 100,
        picture()[:200],
        picture("PNG")[:60],
        picture("TIFF"),
        _bomb(),
    ],
)
def test_what_is_no_photo_is_said(client: TestClient, piece_id: str, sent: bytes) -> None:
    reply = client.post(f"/api/pieces/{piece_id}/photos", files={"photo": ("a.jpg", sent)})
    assert reply.status_code == 422
    assert reply.json()["errors"][0]["path"] == "/photo"
    assert client.get("/api/ledger").json()["items"] == []


def test_a_file_over_20_mib_is_too_large(client: TestClient, piece_id: str) -> None:
    address = f"/api/pieces/{piece_id}/photos"
    for extra in (1, 1024 * 1024):
        big = b"\xff" * (20 * 1024 * 1024 + extra)
        assert client.post(address, files={"photo": ("a.jpg", big)}).status_code == 413
    just_fits = b"\xff" * (20 * 1024 * 1024)
    assert client.post(address, files={"photo": ("a.jpg", just_fits)}).status_code == 422


@pytest.mark.parametrize(
    "digest",
    [
        "../../../etc/passwd",
        "..%2f..%2fringwright.db",
        "%2e%2e/ringwright.db",
        "a" * 64,
        "A" * 64,
        "%00",
    ],
)
def test_only_photos_of_the_piece_are_shown(client: TestClient, piece_id: str, digest: str) -> None:
    assert client.get(f"/api/pieces/{piece_id}/photos/{digest}").status_code == 404


def test_a_photo_of_a_piece_that_is_not_there(client: TestClient) -> None:
    reply = client.post("/api/pieces/nowhere/photos", files={"photo": ("a.jpg", picture())})
    assert reply.status_code == 404
