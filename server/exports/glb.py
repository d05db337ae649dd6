"""The piece as glTF 2.0, binary: one node a part, one mesh a ring, one primitive a wood.

Metres, y up, written into the positions: a viewer needs no turning node. Colours are linear, as
the standard wants them.
"""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from server.craft.form.slopes import Floats
from server.craft.planned import Planned
from server.craft.wood.properties import Species
from server.exports.model.gltf import Binary
from server.exports.model.normals import repeated, shaded
from server.exports.model.pieces import BodyMesh, PartMesh, WoodMesh, piece_meshes
from server.exports.words import one_line

MM_PER_M = 1000.0
_ROUGHNESS = 0.55
_TINTS = (1.0, 0.93, 0.97, 0.90, 0.985)
"""Shares of the light: neighbours of one wood differ as segments from one strip do."""


def piece_glb(planned: Planned) -> bytes:
    """The file. GeometryError where nothing of the piece can be made."""
    parts = piece_meshes(planned)
    woods = list(dict.fromkeys(wood for part in parts for wood in _woods_of(part)))
    scene = _Scene(woods)
    top = [scene.part(part) for part in parts]
    document = {
        "asset": {"version": "2.0", "generator": "Ringwright"},
        "scene": 0,
        "scenes": [{"name": one_line(planned.piece.name), "nodes": top}],
        "nodes": scene.nodes,
        "meshes": scene.meshes,
        "materials": [_material(wood, planned.woods) for wood in woods],
    }
    return scene.binary.pack(document)


def _woods_of(part: PartMesh) -> list[str]:
    return [mesh.wood for body in part.bodies for mesh in body.woods]


class _Scene:
    """Nodes and meshes in the making."""

    def __init__(self, woods: list[str]) -> None:
        self.binary = Binary()
        self.nodes: list[dict[str, Any]] = []
        self.meshes: list[dict[str, Any]] = []
        self.woods = woods

    def part(self, part: PartMesh) -> int:
        """A part's node. Rings hang below it, one node each, as a node carries one mesh only."""
        node: dict[str, Any] = {
            "name": one_line(part.id),
            "extras": {"title": one_line(part.title)},
        }
        self.nodes.append(node)
        number = len(self.nodes) - 1
        if len(part.bodies) == 1 and part.bodies[0].id == part.id:
            node["mesh"] = self._mesh(part.bodies[0])
        elif part.bodies:
            node["children"] = [self._ring(body) for body in part.bodies]
        return number

    def _ring(self, body: BodyMesh) -> int:
        self.nodes.append({"name": one_line(body.id), "mesh": self._mesh(body)})
        return len(self.nodes) - 1

    def _mesh(self, body: BodyMesh) -> int:
        primitives = [self._primitive(mesh) for mesh in body.woods]
        self.meshes.append({"name": one_line(body.id), "primitives": primitives})
        return len(self.meshes) - 1

    def _primitive(self, mesh: WoodMesh) -> dict[str, Any]:
        forms = [repeated(shaded(p.mesh.vertices, p.mesh.triangles), p.angles) for p in mesh.pieces]
        counts = [len(form.positions) for form in forms]
        starts = np.cumsum([0, *counts[:-1]])
        indices = [form.triangles.ravel() + at for form, at in zip(forms, starts, strict=True)]
        tints = [
            np.repeat(_tints(piece.owners), count // len(piece.owners), axis=0)
            for piece, count in zip(mesh.pieces, counts, strict=True)
        ]
        add = self.binary.add
        return {
            "attributes": {
                "POSITION": add("POSITION", _y_up([form.positions for form in forms]) / MM_PER_M),
                "NORMAL": add("NORMAL", _y_up([form.normals for form in forms])),
                "COLOR_0": add("COLOR_0", np.concatenate(tints)),
            },
            "indices": add("indices", np.concatenate(indices)),
            "material": self.woods.index(mesh.wood),
            "mode": 4,
        }


def _y_up(vectors: Sequence[Floats]) -> Floats:
    """From z up to y up: a quarter turn about x, which leaves inside and outside as they are."""
    x, y, z = np.concatenate(vectors).T
    return np.stack([x, z, -y], axis=1)


def _tints(owner: NDArray[np.int64]) -> NDArray[np.uint8]:
    share = np.array(_TINTS)[np.maximum(owner, 0) % len(_TINTS)]
    light = np.round(255 * share).astype(np.uint8)
    return np.stack([light, light, light, np.full_like(light, 255)], axis=1)


def _material(wood: str, woods: Mapping[str, Species]) -> dict[str, Any]:
    known = woods.get(wood)
    return {
        "name": one_line(wood),
        "pbrMetallicRoughness": {
            "baseColorFactor": [*linear_rgb(known.colour_hex if known else "#c8b48c"), 1.0],
            "metallicFactor": 0.0,
            "roughnessFactor": _ROUGHNESS,
        },
    }


def linear_rgb(colour: str) -> list[float]:
    """Linear light of `#rrggbb`, by the transfer function of sRGB (IEC 61966-2-1)."""
    shares = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    return [s / 12.92 if s <= 0.04045 else ((s + 0.055) / 1.055) ** 2.4 for s in shares]
