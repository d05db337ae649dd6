"""Reads binary glTF by the letter of the standard, for tests; it shares no code with the writer."""

import json
import struct
from dataclasses import dataclass
from typing import Any

import numpy as np

_TYPES = {5120: "i1", 5121: "u1", 5122: "<i2", 5123: "<u2", 5125: "<u4", 5126: "<f4"}
_COUNTS = {"SCALAR": 1, "VEC2": 2, "VEC3": 3, "VEC4": 4}


@dataclass
class Glb:
    document: dict[str, Any]
    binary: bytes

    def values(self, number: int) -> np.ndarray:
        """The values of an accessor."""
        accessor = self.document["accessors"][number]
        view = self.document["bufferViews"][accessor["bufferView"]]
        kind = np.dtype(_TYPES[accessor["componentType"]])
        wide = _COUNTS[accessor["type"]]
        stride = view.get("byteStride", kind.itemsize * wide)
        start = view.get("byteOffset", 0) + accessor.get("byteOffset", 0)
        assert accessor.get("byteOffset", 0) % kind.itemsize == 0
        assert start % kind.itemsize == 0
        last = start + stride * (accessor["count"] - 1) + kind.itemsize * wide
        assert last <= view.get("byteOffset", 0) + view["byteLength"] <= len(self.binary)
        rows = np.ndarray(
            (accessor["count"], wide), kind, self.binary, start, (stride, kind.itemsize)
        )
        return rows[:, 0] if wide == 1 else rows

    def triangles(self, primitive: dict[str, Any]) -> np.ndarray:
        """The corners (n, 3, 3) of a primitive's triangles."""
        points = self.values(primitive["attributes"]["POSITION"]).astype(float)
        return points[self.values(primitive["indices"])].reshape(-1, 3, 3)

    def volume(self, mesh: dict[str, Any]) -> float:
        """Volume of a mesh whose pieces are closed, m³."""
        a, b, c = np.moveaxis(
            np.concatenate([self.triangles(one) for one in mesh["primitives"]]), 1, 0
        )
        return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)


def read_glb(content: bytes) -> Glb:
    """The two chunks, with header, lengths and alignment checked."""
    magic, version, length = struct.unpack_from("<4sII", content)
    assert (magic, version, length) == (b"glTF", 2, len(content))
    assert len(content) % 4 == 0
    size, kind = struct.unpack_from("<I4s", content, 12)
    assert kind == b"JSON"
    assert size % 4 == 0
    document = json.loads(content[20 : 20 + size])
    at = 20 + size
    packed, kind = struct.unpack_from("<I4s", content, at)
    assert kind == b"BIN\0"
    assert packed % 4 == 0
    assert at + 8 + packed == len(content)
    binary = content[at + 8 :]
    assert 0 <= len(binary) - document["buffers"][0]["byteLength"] < 4
    return Glb(document, binary)
