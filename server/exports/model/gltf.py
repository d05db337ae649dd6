"""Packing glTF 2.0 (Khronos, ISO/IEC 12113) into one binary file: accessors, views, chunks."""

import json
import struct
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

FLOAT, UNSIGNED_BYTE, UNSIGNED_INT = 5126, 5121, 5125
ARRAY_BUFFER, ELEMENT_ARRAY_BUFFER = 34962, 34963

_MAGIC, _VERSION, _JSON, _BIN = 0x46546C67, 2, 0x4E4F534A, 0x004E4942
_ALIGN = 4


@dataclass(slots=True)
class View:
    """Values of one kind, one accessor after the other in one buffer view."""

    component: int
    kind: str
    dtype: str
    stride: int
    target: int
    bounded: bool = False
    chunks: list[NDArray[Any]] = field(default_factory=list)
    bytes: int = 0


def views() -> dict[str, View]:
    """The four kinds of values of a coloured mesh."""
    return {
        "POSITION": View(FLOAT, "VEC3", "<f4", 12, ARRAY_BUFFER, bounded=True),
        "NORMAL": View(FLOAT, "VEC3", "<f4", 12, ARRAY_BUFFER),
        "COLOR_0": View(UNSIGNED_BYTE, "VEC4", "u1", 4, ARRAY_BUFFER),
        "indices": View(UNSIGNED_INT, "SCALAR", "<u4", 0, ELEMENT_ARRAY_BUFFER),
    }


@dataclass(slots=True)
class Binary:
    """The binary part of a file in the making, and the accessors into it."""

    views: dict[str, View] = field(default_factory=views)
    accessors: list[dict[str, Any]] = field(default_factory=list)

    def add(self, name: str, values: NDArray[Any]) -> int:
        """Append values to the view of that name; the number of their accessor."""
        view = self.views[name]
        packed = np.ascontiguousarray(values, dtype=view.dtype)
        accessor: dict[str, Any] = {
            "bufferView": list(self.views).index(name),
            "byteOffset": view.bytes,
            "componentType": view.component,
            "count": len(packed),
            "type": view.kind,
        }
        if view.component == UNSIGNED_BYTE:
            accessor["normalized"] = True
        if view.bounded:
            accessor["min"] = [float(value) for value in packed.min(axis=0)]
            accessor["max"] = [float(value) for value in packed.max(axis=0)]
        view.chunks.append(packed)
        view.bytes += packed.nbytes
        self.accessors.append(accessor)
        return len(self.accessors) - 1

    def pack(self, document: dict[str, Any]) -> bytes:
        """The file: the document with what was added here."""
        buffer_views: list[dict[str, Any]] = []
        blocks: list[bytes] = []
        offset = 0
        for view in self.views.values():
            block = b"".join(chunk.tobytes() for chunk in view.chunks)
            buffer_view = {
                "buffer": 0,
                "byteOffset": offset,
                "byteLength": len(block),
                "target": view.target,
            }
            if view.stride:
                buffer_view["byteStride"] = view.stride
            buffer_views.append(buffer_view)
            blocks.append(block)
            offset += len(block)
        whole = {
            **document,
            "accessors": self.accessors,
            "bufferViews": buffer_views,
            "buffers": [{"byteLength": offset}],
        }
        text = json.dumps(whole, separators=(",", ":"), ensure_ascii=True).encode()
        return _container(text, b"".join(blocks))


def _container(text: bytes, binary: bytes) -> bytes:
    """Header and two chunks; the text is filled up with spaces, the numbers with zeros."""
    text += b" " * (-len(text) % _ALIGN)
    binary += b"\0" * (-len(binary) % _ALIGN)
    length = 12 + 8 + len(text) + 8 + len(binary)
    return b"".join(
        (
            struct.pack("<III", _MAGIC, _VERSION, length),
            struct.pack("<II", len(text), _JSON),
            text,
            struct.pack("<II", len(binary), _BIN),
            binary,
        )
    )
