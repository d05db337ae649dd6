"""What is pressed and what holds between a ring and the one it is glued on."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from server.craft.form.planes import CommonFace, common_faces
from server.craft.records import record
from server.craft.rings.faces import RoughFace, finished_face_mm2, rough_overlaps_mm2
from server.craft.worked.piece import WorkedPart, WorkedPiece
from server.craft.worked.rings import WorkedRing

_Pair = tuple[WorkedRing, WorkedRing]
"""A ring and the one that it is glued on."""


@record
class GlueJoint:
    """One ring on another: rough overlap, finished face, and the radial width of that face.

    The overlap is None where one of the two cannot be made.
    """

    ring: WorkedRing
    under: WorkedRing
    rough_overlap_mm2: float | None
    finished_face_mm2: float
    face_width_mm: float


def glue_joints(work: WorkedPiece) -> dict[str, GlueJoint]:
    """For each ring the joint with the ring below it in its stack, or in the part if unstacked.

    The first ring on a faceplate has none: it is pressed on the waste block.
    """
    joints = [joint for part in work.parts for joint in _joints(part, [*_pairs(work, part)])]
    return {joint.ring.id: joint for joint in joints}


def stack_joins(work: WorkedPiece, glued: Mapping[str, GlueJoint]) -> tuple[GlueJoint, ...]:
    """The joints between neighbours that no stack presses: where two stacks are put together.

    `glued` are those of `glue_joints`; here the upper ring counts as glued on the lower one.
    """
    pressed = {frozenset((joint.ring.id, joint.under.id)) for joint in glued.values()}
    joins: list[GlueJoint] = []
    for part in work.parts:
        neighbours = [(upper, lower) for lower, upper in pairwise(part.rings)]
        joins += _joints(part, [p for p in neighbours if frozenset(r.id for r in p) not in pressed])
    return tuple(joins)


def _joints(part: WorkedPart, pairs: Sequence[_Pair]) -> Iterator[GlueJoint]:
    if not pairs:
        return
    finished, rough = _plane_faces(part), _Faces()
    met = [rough.between(*pair) for pair in pairs]
    overlaps = iter(rough_overlaps_mm2([(low, high) for low, high in met if low and high]))
    for (ring, under), (low, high) in zip(pairs, met, strict=True):
        face = finished[max(ring.index, under.index)]
        overlap = next(overlaps) if low and high else None
        area = finished_face_mm2(face.annuli, low, high)
        yield GlueJoint(ring, under, overlap, area, face.width_mm)


def _plane_faces(part: WorkedPart) -> list[CommonFace]:
    """The finished faces at the bottom of each ring, and at the top of the last."""
    # The planes of the rings' own slabs, ends and all: the curves know their cuts there.
    planes = [ring.z_bottom_mm for ring in part.rings] + [part.rings[-1].z_top_mm]
    return common_faces(part.outside, part.inside, part.floor_mm, planes)


class _Faces(dict[tuple[str, bool], RoughFace | None]):
    """Rough faces drawn once: a ring meets the one below it and the one above."""

    def between(
        self, ring: WorkedRing, under: WorkedRing
    ) -> tuple[RoughFace | None, RoughFace | None]:
        """The face of `under` and the one of `ring`, which lies above it, or below it on a stack
        from the rim."""
        upwards = ring.index > under.index
        return self._of(under, top=upwards), self._of(ring, top=not upwards)

    def _of(self, ring: WorkedRing, *, top: bool) -> RoughFace | None:
        """The ring's face; only leaning staves have two different ones."""
        key = (ring.id, top and ring.stave is not None)
        if key not in self:
            self[key] = ring.face(top=top)
        return self[key]


def _pairs(work: WorkedPiece, part: WorkedPart) -> Iterator[_Pair]:
    for ring in part.rings:
        if ring.id in work.before:
            under = work.before[ring.id]
        else:
            under = part.rings[ring.index - 1] if ring.index else None
        if under is not None and abs(under.index - ring.index) == 1:
            yield ring, under
