"""Files over the API: of a document that is sent, and of a kept piece with photos and ledger."""

import csv
import io
import json
import re
import xml.etree.ElementTree as ET
import zipfile
from typing import Any

import ezdxf
import icalendar
import pypdf
import pytest
import trimesh
from exports_pieces import NASTY_NAMES, every_kind, goblet, vessel
from fastapi.testclient import TestClient
from PIL import Image
from shop_help import ledger_line

from server.exports.files import FILES, disposition

TYPES = {
    "piece.glb": "model/gltf-binary",
    "piece.stl": "model/stl",
    "profile.svg": "image/svg+xml",
    "profile.dxf": "image/vnd.dxf",
    "templates.pdf": "application/pdf",
    "sheets.pdf": "application/pdf",
    "labels.pdf": "application/pdf",
    "rings.csv": "text/csv; charset=utf-8; header=present",
    "cuts.csv": "text/csv; charset=utf-8; header=present",
    "gluing.ics": "text/calendar; charset=utf-8",
    "piece.json": "application/json",
}


def _read(name: str, content: bytes) -> None:
    """Open the file with a reader that is not ours."""
    kind = name.rpartition(".")[2]
    if kind in ("glb", "stl"):
        assert trimesh.load(io.BytesIO(content), file_type=kind).bounds is not None
    elif kind == "svg":
        ET.fromstring(content)
    elif kind == "dxf":
        assert not ezdxf.read(io.StringIO(content.decode())).audit().has_errors
    elif kind == "pdf":
        assert len(pypdf.PdfReader(io.BytesIO(content)).pages) >= 1
    elif kind == "csv":
        assert len(list(csv.DictReader(io.StringIO(content.decode(), newline="")))) >= 1
    elif kind == "ics":
        assert list(icalendar.Calendar.from_ical(content).walk("VEVENT"))
    else:
        json.loads(content)


def test_every_file_has_its_type() -> None:
    assert {name: kind.media_type for name, kind in FILES.items()} == TYPES


@pytest.mark.parametrize("name", FILES)
def test_a_document_becomes_a_file(client: TestClient, name: str) -> None:
    reply = client.post(f"/api/files/{name}", json=every_kind())
    assert reply.status_code == 200, reply.text
    assert reply.headers["content-type"] == TYPES[name]
    assert re.fullmatch(
        r'attachment; filename="vessel(-[a-z]+)?\.[a-z]+"(; filename\*=UTF-8\'\'\S+)?',
        reply.headers["content-disposition"],
    )
    assert int(reply.headers["content-length"]) == len(reply.content)
    _read(name, reply.content)


def test_the_document_comes_back_as_it_was_sent(client: TestClient) -> None:
    document = {**goblet(), "extra": {"of": ["the", "user", 1.50, None, "😀"]}}
    reply = client.post("/api/files/piece.json", json=document)
    assert reply.json() == document


def test_unknown_files_are_not_found(client: TestClient, piece_id: str) -> None:
    for name in ("piece.obj", "piece.zip", "PIECE.GLB", "..%2Fpiece.glb"):
        reply = client.post(f"/api/files/{name}", json=goblet())
        assert reply.status_code == 404, name
    assert client.get(f"/api/pieces/{piece_id}/files/piece.obj").status_code == 404
    assert client.get("/api/pieces/no-such-piece/files/piece.glb").status_code == 404
    assert client.get("/api/pieces/no-such-piece/files/piece.zip").status_code == 404


def test_documents_are_read_strictly(client: TestClient) -> None:
    document = goblet()
    document["parts"][0]["rings"][0]["thickness_mm"] = "19"
    reply = client.post("/api/files/piece.glb", json=document)
    assert reply.status_code == 422
    assert reply.headers["content-type"] == "application/problem+json"
    assert reply.json()["errors"][0]["path"] == "/parts/0/rings/0/thickness_mm"


@pytest.mark.parametrize("name", FILES)
def test_what_can_be_made_is_answered(client: TestClient, name: str) -> None:
    document = goblet()
    document["parts"][0]["rings"][2]["spacer"]["thickness_mm"] = 45
    reply = client.post(f"/api/files/{name}", json=document)
    assert reply.status_code == 200, reply.text
    _read(name, reply.content)


@pytest.mark.parametrize("name", FILES)
def test_a_piece_of_nothing_is_refused_in_words_or_answered(client: TestClient, name: str) -> None:
    document = vessel([{"id": "a", "thickness_mm": 10}, {"id": "b", "thickness_mm": 10}])
    for ring in document["parts"][0]["rings"]:
        ring["gap"] = {"angle_deg": 300}
    reply = client.post(f"/api/files/{name}", json=document)
    refused = name in ("piece.glb", "piece.stl")
    assert reply.status_code == (422 if refused else 200), reply.text
    if refused:
        assert reply.json()["detail"] == "There is no wood in this drawing yet."


@pytest.mark.parametrize("name", FILES)
def test_an_inside_outside_the_outside_is_no_accident(client: TestClient, name: str) -> None:
    document = goblet()
    for point in document["parts"][0]["inside"]["points"]:
        point["r_mm"] = 3 * point["r_mm"] + 1
    reply = client.post(f"/api/files/{name}", json=document)
    assert reply.status_code in (200, 422)
    if reply.status_code == 422:
        assert reply.json()["detail"]


def test_paper_follows_the_units_or_the_wish(client: TestClient) -> None:
    def width(query: str, units: str) -> float:
        document = {**goblet(), "display_units": units}
        reply = client.post(f"/api/files/templates.pdf{query}", json=document)
        assert reply.status_code == 200
        return float(pypdf.PdfReader(io.BytesIO(reply.content)).pages[0].mediabox.width)

    assert width("", "in") == pytest.approx(612, abs=0.1)
    assert width("", "mm") == pytest.approx(595.28, abs=0.1)
    assert width("?paper=a4", "in") == pytest.approx(595.28, abs=0.1)
    assert width("?paper=letter", "mm") == pytest.approx(612, abs=0.1)
    assert client.post("/api/files/templates.pdf?paper=a3", json=goblet()).status_code == 422


def test_gluing_begins_when_asked(client: TestClient) -> None:
    query = "?start=2026-06-01T08:30:00%2B02:00"
    reply = client.post(f"/api/files/gluing.ics{query}", json=goblet())
    calendar = icalendar.Calendar.from_ical(reply.content)
    starts = [event["DTSTART"].dt.isoformat() for event in calendar.walk("VEVENT")]
    assert min(starts) == "2026-06-01T06:30:00+00:00"
    assert client.post("/api/files/gluing.ics?start=soon", json=goblet()).status_code == 422
    assert (
        client.post("/api/files/gluing.ics?start=9999-12-31T23:59:00Z", json=goblet()).status_code
        == 422
    )


@pytest.mark.parametrize("name", FILES)
def test_a_kept_piece_gives_the_same_files(client: TestClient, name: str) -> None:
    kept = client.post("/api/pieces", json=goblet()).json()["id"]
    reply = client.get(f"/api/pieces/{kept}/files/{name}")
    assert reply.status_code == 200, reply.text
    assert reply.headers["content-type"] == TYPES[name]
    _read(name, reply.content)
    # What does not depend on the moment or the address is the same to the byte.
    if name in ("piece.glb", "piece.stl", "profile.svg", "rings.csv", "cuts.csv", "piece.json"):
        assert reply.content == client.post(f"/api/files/{name}", json=goblet()).content


def test_a_kept_pieces_calendar_leaves_out_what_is_glued(client: TestClient) -> None:
    kept = client.post("/api/pieces", json=goblet()).json()["id"]

    def presses() -> list[str]:
        reply = client.get(f"/api/pieces/{kept}/files/gluing.ics")
        events = icalendar.Calendar.from_ical(reply.content).walk("VEVENT")
        return [str(event["SUMMARY"]) for event in events if "Press" in str(event["SUMMARY"])]

    assert any("Press ring 1 on Bowl" in said for said in presses())
    data = {"stack": "low", "faceplate": "F1", "minutes": 30}
    reply = client.post("/api/ledger", json=ledger_line(kept, "clamped", "b1", data=data))
    assert reply.status_code == 200, reply.text
    assert not any("Press ring 1 on Bowl" in said for said in presses())


def test_the_archive_brings_photos_and_ledger(client: TestClient) -> None:
    kept = client.post("/api/pieces", json=goblet()).json()["id"]
    client.post("/api/ledger", json=ledger_line(kept, "cut", "b1", data={"count": 12}))
    picture = io.BytesIO()
    Image.new("RGB", (8, 8), "brown").save(picture, "JPEG")
    photos = [
        client.post(
            f"/api/pieces/{kept}/photos", files={"photo": ("p.jpg", content, "image/jpeg")}
        ).json()
        for content in (picture.getvalue(), _other_picture())
    ]
    taken_back = ledger_line(kept, "undone", photos[1]["subject"], undoes=photos[1]["id"])
    assert client.post("/api/ledger", json=taken_back).status_code == 200
    reply = client.get(f"/api/pieces/{kept}/files/piece.zip")
    assert reply.status_code == 200
    assert reply.headers["content-type"] == "application/zip"
    assert 'filename="orchard-goblet.zip"' in reply.headers["content-disposition"]
    with zipfile.ZipFile(io.BytesIO(reply.content)) as archive:
        assert archive.testzip() is None
        assert json.loads(archive.read("piece.json")) == goblet()
        lines = json.loads(archive.read("ledger.json"))["items"]
        assert [line["kind"] for line in lines] == ["cut", "photo", "photo", "undone"]
        digest = photos[0]["data"]["sha256"]
        assert [n for n in archive.namelist() if n.startswith("photos/")] == [
            f"photos/{digest}.jpg"
        ]


def _other_picture() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (9, 9), "navy").save(out, "JPEG")
    return out.getvalue()


@pytest.mark.parametrize("name", ["piece.glb", "templates.pdf", "gluing.ics", "piece.json"])
def test_names_are_harmless(client: TestClient, name: str) -> None:
    for piece_name in NASTY_NAMES:
        _harmless(client, name, piece_name)


def _harmless(client: TestClient, name: str, piece_name: str) -> None:
    reply = client.post(f"/api/files/{name}", json={**goblet(), "name": piece_name})
    assert reply.status_code == 200, reply.text
    _read(name, reply.content)
    said = reply.headers["content-disposition"]
    assert said.isascii()
    assert re.fullmatch(
        r'attachment; filename="[a-z0-9-]+\.[a-z]+"(; filename\*=UTF-8\'\'[A-Za-z0-9%._~-]+)?', said
    )
    assert ".." not in said
    assert len(said) < 900


def test_the_true_name_stands_beside_the_plain_one() -> None:
    assert disposition("Orchard goblet", ".glb") == (
        "attachment; filename=\"orchard-goblet.glb\"; filename*=UTF-8''Orchard%20goblet.glb"
    )
    assert disposition("goblet", "-rings.csv") == 'attachment; filename="goblet-rings.csv"'
    assert disposition("A/b\\c:d", ".stl").endswith("filename*=UTF-8''A-b-c-d.stl")


def test_files_are_documented(client: TestClient) -> None:
    paths: dict[str, Any] = client.get("/openapi.json").json()["paths"]
    assert "post" in paths["/api/files/{name}"]
    assert "get" in paths["/api/pieces/{piece_id}/files/{name}"]
