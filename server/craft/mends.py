"""What one tap would change: JSON Patch operations (RFC 6902) on the piece document."""

import copy
from collections.abc import Mapping
from typing import Any

from server.craft.document.piece import Piece
from server.craft.errors import CraftError


def change(path: str, value: Any, op: str = "add") -> dict[str, Any]:
    """One operation. `add` sets a field whether or not it was there, and inserts into lists."""
    return {"op": op, "path": path, "value": value}


def mend(title: str, *changes: Mapping[str, Any]) -> dict[str, Any]:
    """A mend with the words that stand on its button."""
    return {"title": title, "changes": [dict(one) for one in changes]}


def ring_path(piece: Piece, ring_id: str) -> str:
    """The JSON pointer to a ring."""
    for i, part in enumerate(piece.parts):
        for j, ring in enumerate(part.rings):
            if ring.id == ring_id:
                return f"/parts/{i}/rings/{j}"
    raise KeyError(ring_id)


def part_path(piece: Piece, part_id: str) -> str:
    """The JSON pointer to a part."""
    return f"/parts/{[part.id for part in piece.parts].index(part_id)}"


def apply_mend(document: Mapping[str, Any], offered: Mapping[str, Any]) -> dict[str, Any]:
    """The document with the mend's changes made, in order; what is not changed is shared.

    Raises CraftError where the document has no such place: it was changed since.
    """
    mended = dict(document)
    for step in offered["changes"]:
        *above, last = [
            token.replace("~1", "/").replace("~0", "~") for token in step["path"].split("/")[1:]
        ]
        holder: Any = mended
        try:
            for token in above:
                place = int(token) if isinstance(holder, list) else token
                holder[place] = copy.copy(holder[place])
                holder = holder[place]
            _set(holder, last, step)
        except (KeyError, IndexError, ValueError, TypeError) as error:
            raise CraftError("The drawing has changed since; look at the checks again.") from error
    return mended


def _set(holder: Any, last: str, step: Mapping[str, Any]) -> None:
    if not isinstance(holder, list):
        holder[last] = step["value"]
    elif step["op"] == "replace":
        holder[int(last)] = step["value"]
    elif last == "-":
        holder.append(step["value"])
    else:
        holder.insert(int(last), step["value"])
