"""Changes to a piece document, each from one drawing to the next; the caller keeps the old one.

Documents are plain JSON objects here, as they are kept, so that a field that nobody touched
stays exactly as it was written.
"""

import secrets
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from server.craft.errors import CraftError
from server.craft.form.curves import Curve, CurvePoint

Document = dict[str, Any]

BY_HAND = "by_hand"
"""In a ring's `extra`: set by hand."""

_SMALLEST_MM = 0.1
_ID_ALPHABET = "abcdefghjkmnpqrstuvwxyz23456789"
_ID_LENGTH = 5


def parts(document: Document) -> list[Document]:
    """The parts."""
    found: list[Document] = document["parts"]
    return found


def part_of(document: Document, part_id: str) -> Document:
    """The part of that id. Raises CraftError where it is gone."""
    for part in parts(document):
        if part["id"] == part_id:
            return part
    raise CraftError("That part is no longer in the drawing.")


def ring_place(document: Document, ring_id: str) -> tuple[Document, int]:
    """The part that a ring is in, and its number there. Raises CraftError where it is gone."""
    for part in parts(document):
        for index, ring in enumerate(part.get("rings", ())):
            if ring["id"] == ring_id:
                return part, index
    raise CraftError("That ring is no longer in the drawing.")


def ring_of(document: Document, ring_id: str) -> Document:
    """The ring of that id."""
    part, index = ring_place(document, ring_id)
    ring: Document = part["rings"][index]
    return ring


def new_id(document: Document, stem: str) -> str:
    """An id that nothing in the piece has, nor ever had: the floor remembers what was taken out."""
    taken = set(_ids(document))
    while True:
        name = f"{stem}-{''.join(secrets.choice(_ID_ALPHABET) for _ in range(_ID_LENGTH))}"
        if name not in taken:
            return name


def _ids(document: Document) -> Iterator[str]:
    for part in parts(document):
        yield part["id"]
        for ring in part.get("rings", ()):
            if "id" in ring:
                yield ring["id"]
    for key in ("woods", "joints", "stacks"):
        for item in document.get(key, ()):
            yield item["id"]


def set_or_drop(holder: Document, values: Mapping[str, Any]) -> None:
    """Set what has a value, drop what is None."""
    for key, value in values.items():
        if value is None:
            holder.pop(key, None)
        else:
            holder[key] = value


def by_hand(rings: Iterable[Document], fixed: bool = True) -> None:
    """Remember which rings somebody set: a proposal leaves them where they are."""
    for ring in rings:
        rest = {k: v for k, v in (ring.get("extra") or {}).items() if k != BY_HAND}
        set_or_drop(ring, {"extra": rest | ({BY_HAND: True} if fixed else {}) or None})


def is_by_hand(ring: Mapping[str, Any]) -> bool:
    """Whether somebody set this ring."""
    return bool((ring.get("extra") or {}).get(BY_HAND))


def insert_ring(document: Document, ring_id: str, *, above: bool) -> str:
    """A ring like this one, over or under it; it goes on the same stack. Its id."""
    part, index = ring_place(document, ring_id)
    ring = {**part["rings"][index], "id": new_id(document, part["id"])}
    ring["phase"] = (ring.get("phase", 0) + 0.5) % 1
    by_hand([ring])
    part["rings"].insert(index + 1 if above else index, ring)
    for stack in document.get("stacks", ()):
        if ring_id in stack.get("rings", ()):
            stack["rings"].append(ring["id"])
    _sort_stacks(document)
    made: str = ring["id"]
    return made


def split_ring(document: Document, ring_id: str) -> str:
    """Two rings of half the thickness in place of one, the upper one turned by half a segment."""
    part, index = ring_place(document, ring_id)
    ring = part["rings"][index]
    if ring["thickness_mm"] < 2 * _SMALLEST_MM:
        raise CraftError("This ring is too thin to be split.")
    ring["thickness_mm"] = ring["thickness_mm"] / 2
    by_hand([ring])
    return insert_ring(document, ring_id, above=True)


def merge_ring(document: Document, ring_id: str) -> None:
    """One ring in place of this and the one over it, as thick as both."""
    part, index = ring_place(document, ring_id)
    if index + 1 >= len(part["rings"]):
        raise CraftError("There is no ring over this one.")
    over = part["rings"][index + 1]
    part["rings"][index]["thickness_mm"] += over["thickness_mm"]
    by_hand([part["rings"][index]])
    remove_ring(document, over["id"])


def remove_ring(document: Document, ring_id: str) -> None:
    """Take a ring out, also off its stack."""
    part, index = ring_place(document, ring_id)
    del part["rings"][index]
    for stack in document.get("stacks", ()):
        stack["rings"] = [ring for ring in stack.get("rings", ()) if ring != ring_id]


def move_ring(document: Document, ring_id: str, *, up: bool) -> None:
    """Change places with the neighbour; what the ring is made of goes along."""
    part, index = ring_place(document, ring_id)
    other = index + 1 if up else index - 1
    if not 0 <= other < len(part["rings"]):
        raise CraftError("There is no ring beyond this one.")
    rings = part["rings"]
    rings[index], rings[other] = rings[other], rings[index]
    _sort_stacks(document)


def mirror_rings(document: Document, part_id: str) -> None:
    """The pattern of the lower half again, upside down, on the upper half; thicknesses stay."""
    mirror(part_of(document, part_id).get("rings", []))


def mirror(rings: Sequence[Document]) -> None:
    """The lower half of these rings again on the upper half, upside down."""
    for low in range(len(rings) // 2):
        below, over = rings[low], rings[len(rings) - 1 - low]
        for key in ("woods", "segments", "phase", "spacer", "gap", "shares", "kind"):
            set_or_drop(over, {key: below.get(key)})


def fit_heights(document: Document, part_id: str) -> None:
    """Stretch all rings of a part alike, so that they fill its profile."""
    part = part_of(document, part_id)
    rings = part.get("rings", [])
    heights = [point["z_mm"] for point in part["outside"]["points"]]
    total = sum(ring["thickness_mm"] for ring in rings)
    wanted = max(heights) - min(heights)
    if not rings or total <= 0:
        raise CraftError("This part has no rings to fit.")
    for ring in rings:
        ring["thickness_mm"] = max(_SMALLEST_MM, ring["thickness_mm"] * wanted / total)


def _sort_stacks(document: Document) -> None:
    """Rings go on in the order they lie in, from the end that is mounted."""
    order = {
        ring["id"]: number
        for part in parts(document)
        for number, ring in enumerate(part.get("rings", ()))
    }
    for stack in document.get("stacks", ()):
        down = stack.get("mounted", "bottom") == "top"
        stack["rings"] = sorted(
            stack.get("rings", ()), key=lambda ring: order.get(ring, 0), reverse=down
        )


def sort_stacks(document: Document) -> None:
    """Bring every stack into gluing order."""
    _sort_stacks(document)


def add_point(document: Document, part_id: str, curve: str, after: int) -> None:
    """A smooth point in the middle of the span that follows a point, on the curve as it is."""
    points = part_of(document, part_id)[curve]["points"]
    if not 0 <= after < len(points) - 1:
        raise CraftError("A point can be added between two points only.")
    drawn = Curve.through([_point(p) for p in points])
    r, z = drawn.spans[after, 0] if after >= len(drawn.spans) else _middle(drawn, after)
    points.insert(after + 1, {"r_mm": round(float(r), 2), "z_mm": round(float(z), 2)})


def _middle(curve: Curve, span: int) -> Sequence[float]:
    control = curve.spans[span]
    middle: Sequence[float] = (control[0] + 3 * control[1] + 3 * control[2] + control[3]) / 8
    return middle


def _point(point: Mapping[str, Any]) -> CurvePoint:
    return CurvePoint(point["r_mm"], point["z_mm"], point.get("corner", False))


def remove_point(document: Document, part_id: str, curve: str, index: int) -> None:
    """Take a point out; a curve keeps two."""
    points = part_of(document, part_id)[curve]["points"]
    if len(points) <= 2:
        raise CraftError("A curve needs at least two points.")
    if not 0 <= index < len(points):
        raise CraftError("That point is no longer in the drawing.")
    del points[index]


def set_height(document: Document, part_id: str, height_mm: float) -> None:
    """Stretch a part to a height; its rings are stretched alike, radii stay."""
    part = part_of(document, part_id)
    heights = [point["z_mm"] for point in part["outside"]["points"]]
    low, old = min(heights), max(heights) - min(heights)
    if old <= 0:
        raise CraftError("This part has no height to be changed.")
    factor = height_mm / old
    for curve in ("outside", "inside"):
        for point in (part.get(curve) or {}).get("points", ()):
            point["z_mm"] = low + (point["z_mm"] - low) * factor
    if part.get("floor_mm") is not None:
        part["floor_mm"] = low + (part["floor_mm"] - low) * factor
    for ring in part.get("rings", ()):
        ring["thickness_mm"] = max(_SMALLEST_MM, ring["thickness_mm"] * factor)


def remove_part(document: Document, part_id: str) -> None:
    """Take a part out with its joints and stacks; a piece keeps one."""
    part_of(document, part_id)
    if len(parts(document)) == 1:
        raise CraftError("A piece has at least one part.")
    document["parts"] = [part for part in parts(document) if part["id"] != part_id]
    document["stacks"] = [s for s in document.get("stacks", ()) if s["part"] != part_id]
    document["joints"] = [
        joint
        for joint in document.get("joints", ())
        if part_id not in (joint["tenon"]["part"], joint["mortise"]["part"])
    ]
