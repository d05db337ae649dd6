"""glTF: by the standard's own rules, by an outside reader, and by the plan's volumes."""

import io
import json
from typing import Any

import numpy as np
import pytest
import trimesh
from exports_pieces import NASTY_NAMES, every_kind, goblet, small_pieces, vessel, worked
from glb_reader import Glb, read_glb
from hypothesis import HealthCheck, given, settings

from server.craft.document import parse_piece
from server.craft.errors import GeometryError
from server.craft.form.solids import body
from server.craft.plan import plan
from server.exports.glb import linear_rgb, piece_glb

M3 = 1e-9
"""One mm³ in m³."""


def _valid(glb: Glb) -> None:
    """Rules of the glTF 2.0 specification that a writer of meshes can break."""
    document = glb.document
    assert document["asset"]["version"] == "2.0"
    for mesh in document["meshes"]:
        assert mesh["primitives"]
        for primitive in mesh["primitives"]:
            _valid_primitive(glb, primitive)
    used: dict[int, int] = {}
    for accessor in document["accessors"]:
        used[accessor["bufferView"]] = used.get(accessor["bufferView"], 0) + 1
    for number, view in enumerate(document["bufferViews"]):
        assert view["byteOffset"] % 4 == 0
        assert view["byteLength"] >= 1
        if view["target"] == 34962 and used[number] > 1:
            assert view["byteStride"] % 4 == 0
            assert 4 <= view["byteStride"] <= 252
        if view["target"] == 34963:
            assert "byteStride" not in view
    children = [child for node in document["nodes"] for child in node.get("children", [])]
    assert len(children) == len(set(children))
    assert not set(children) & set(document["scenes"][0]["nodes"])
    assert all(
        "matrix" not in n and "rotation" not in n and "scale" not in n for n in document["nodes"]
    )


def _valid_primitive(glb: Glb, primitive: dict[str, Any]) -> None:
    attributes = primitive["attributes"]
    counts = {glb.document["accessors"][number]["count"] for number in attributes.values()}
    assert len(counts) == 1
    accessor = glb.document["accessors"][attributes["POSITION"]]
    positions = glb.values(attributes["POSITION"])
    assert accessor["componentType"] == 5126
    assert np.isfinite(positions).all()
    assert accessor["min"] == positions.min(axis=0).tolist()
    assert accessor["max"] == positions.max(axis=0).tolist()
    normals = glb.values(attributes["NORMAL"]).astype(float)
    assert np.allclose(np.linalg.norm(normals, axis=1), 1, atol=1e-5)
    indices = glb.values(primitive["indices"])
    assert len(indices) % 3 == 0
    assert int(indices.max()) < counts.pop()
    assert 0 <= primitive["material"] < len(glb.document["materials"])


def test_goblet_has_a_node_a_part_a_mesh_a_ring_a_primitive_a_wood() -> None:
    glb = read_glb(piece_glb(worked(goblet())))
    _valid(glb)
    document = glb.document
    parts = [document["nodes"][number] for number in document["scenes"][0]["nodes"]]
    assert [part["name"] for part in parts] == ["bowl", "stem"]
    assert [mesh["name"] for mesh in document["meshes"]] == ["b1", "b2", "b3", "b4", "b5", "stem"]
    rings = [document["nodes"][number] for number in parts[0]["children"]]
    assert [document["meshes"][ring["mesh"]]["name"] for ring in rings] == [
        "b1",
        "b2",
        "b3",
        "b4",
        "b5",
    ]
    assert document["meshes"][parts[1]["mesh"]]["name"] == "stem"
    woods = [
        [document["materials"][p["material"]]["name"] for p in mesh["primitives"]]
        for mesh in document["meshes"]
    ]
    assert [sorted(names) for names in woods] == [
        ["sapele"],
        ["ash-white"],
        ["ash-white", "holly", "sapele"],
        ["sapele"],
        ["ash-white"],
        ["ash-white"],
    ]


def test_an_outside_reader_finds_metres_and_y_up() -> None:
    scene = trimesh.load(io.BytesIO(piece_glb(worked(goblet()))), file_type="glb")
    low, high = scene.bounds
    # The stem is 90 mm and stands at 0, the bowl of 95 mm on it is 100 mm wide.
    assert low == pytest.approx([-0.05, 0.0, -0.05], abs=1e-6)
    assert high == pytest.approx([0.05, 0.185, 0.05], abs=1e-6)
    for name in scene.graph.nodes_geometry:
        matrix, _ = scene.graph[name]
        assert np.array_equal(matrix, np.eye(4))


def test_the_wider_end_is_up_and_inside_stays_inside() -> None:
    piece = worked(goblet())
    glb = read_glb(piece_glb(piece))
    top = next(mesh for mesh in glb.document["meshes"] if mesh["name"] == "b5")
    accessor = glb.document["accessors"][top["primitives"][0]["attributes"]["POSITION"]]
    assert accessor["min"][1] == pytest.approx(0.090 + 0.076, abs=1e-6)
    assert all(glb.volume(mesh) > 0 for mesh in glb.document["meshes"])


def test_materials_are_wood_not_metal_and_colours_are_linear() -> None:
    glb = read_glb(piece_glb(worked(goblet())))
    for material in glb.document["materials"]:
        surface = material["pbrMetallicRoughness"]
        assert surface["metallicFactor"] == 0
        assert len(surface["baseColorFactor"]) == 4
        assert all(0 <= value <= 1 for value in surface["baseColorFactor"])
    # Middle grey: sRGB 188 is half of the light (IEC 61966-2-1: 0.5 linear is 187.5 encoded).
    assert linear_rgb("#bcbcbc")[0] == pytest.approx(0.5029, abs=1e-3)
    assert linear_rgb("#0a0a0a")[0] == pytest.approx(10 / 255 / 12.92, rel=1e-12)
    assert linear_rgb("#ff0080") == pytest.approx([1.0, 0.0, 0.2159], abs=1e-4)


def test_every_kind_of_ring_has_the_volume_that_the_plan_says() -> None:
    document = every_kind()
    planned = plan(parse_piece(document))
    glb = read_glb(piece_glb(worked(document)))
    _valid(glb)
    meshes = {mesh["name"]: mesh for mesh in glb.document["meshes"]}
    for ring in planned.parts[0].rings:
        assert ring.volume_mm3 is not None, ring.id
        # Chords of 5° hold 0.13 % less than the circle, and 0.05 mm of the outline less again.
        assert glb.volume(meshes[ring.id]) == pytest.approx(ring.volume_mm3 * M3, rel=0.02), ring.id


def test_a_spindle_has_the_volume_of_its_form() -> None:
    piece = worked(goblet())
    glb = read_glb(piece_glb(piece))
    stem = piece.work.by_part["stem"]
    mesh = next(mesh for mesh in glb.document["meshes"] if mesh["name"] == "stem")
    true = body(stem.outside).volume_mm3 * M3
    # A polygon of 72 sides has sin(5°)/(5° in radians) of its circle.
    assert glb.volume(mesh) == pytest.approx(true * np.sin(np.radians(5)) / np.radians(5), rel=1e-6)


def test_normals_look_the_way_the_faces_do() -> None:
    glb = read_glb(piece_glb(worked(every_kind())))
    for mesh in glb.document["meshes"]:
        for primitive in mesh["primitives"]:
            corners = glb.triangles(primitive)
            face = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
            long = np.linalg.norm(face, axis=1)
            normals = glb.values(primitive["attributes"]["NORMAL"]).astype(float)
            at_corner = normals[glb.values(primitive["indices"])].reshape(-1, 3, 3)
            agree = np.einsum("ij,ikj->ik", face, at_corner) / np.maximum(long, 1e-30)[:, None]
            # Faces of some size; a chain of small turns may carry a sliver's normal further.
            assert (agree[long > 1e-7] > 0.5).all(), mesh["name"]


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(small_pieces())
def test_random_pieces_are_valid(document: dict[str, Any]) -> None:
    piece = worked(document)
    made = [ring.id for ring in piece.work.by_ring.values() if ring.is_made]
    try:
        glb = read_glb(piece_glb(piece))
    except GeometryError:
        assert not made
        return
    _valid(glb)
    names = [mesh["name"] for mesh in glb.document["meshes"]]
    assert names == [ring for ring in made if ring in names]
    assert all(glb.volume(mesh) > 0 for mesh in glb.document["meshes"])


def test_what_cannot_be_made_is_left_out() -> None:
    document = goblet()
    document["parts"][0]["rings"][2]["spacer"]["thickness_mm"] = 45
    glb = read_glb(piece_glb(worked(document)))
    _valid(glb)
    assert "b3" not in [mesh["name"] for mesh in glb.document["meshes"]]


def test_more_segments_than_a_model_holds_are_refused_in_words(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    whole = read_glb(piece_glb(worked(goblet())))
    corners = sum(
        whole.document["accessors"][primitive["indices"]]["count"]
        for mesh in whole.document["meshes"]
        for primitive in mesh["primitives"]
    )
    monkeypatch.setattr("server.exports.model.pieces.MOST_TRIANGLES", corners // 6)
    with pytest.raises(GeometryError, match="more segments than one model can hold") as refusal:
        piece_glb(worked(goblet()))
    assert refusal.value.code == "too-many-segments"


def test_nothing_at_all_is_refused_in_words() -> None:
    document = vessel([{"id": "a", "thickness_mm": 10}, {"id": "b", "thickness_mm": 10}])
    for ring in document["parts"][0]["rings"]:
        ring["gap"] = {"angle_deg": 300}
    with pytest.raises(GeometryError, match="no wood") as refusal:
        piece_glb(worked(document))
    assert refusal.value.code == "nothing-to-show"


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_names_are_harmless(name: str) -> None:
    document = {**goblet(), "name": name}
    document["parts"][1]["name"] = name
    glb = read_glb(piece_glb(worked(document)))
    said = json.dumps(glb.document["scenes"]) + json.dumps(glb.document["nodes"])
    assert "\\u0000" not in said
    assert len(said) < 3000
