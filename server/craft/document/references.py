"""What a document says that its single fields cannot show: ids, references, crossing curves."""

from collections.abc import Iterator
from functools import lru_cache

from server.craft.document.piece import Piece
from server.craft.document.profile import Profile
from server.craft.errors import CraftError, FieldError
from server.craft.form.curves import Curve, CurvePoint
from server.craft.form.tolerance import SAME_POINT_MM
from server.craft.glue.adhesives import all_glues
from server.craft.wood.species import all_species


def reference_faults(piece: Piece) -> Iterator[FieldError]:
    """Every fault between the parts of a document, with its JSON pointer."""
    yield from _doubled_ids(piece)
    yield from _unknown_woods(piece)
    yield from _crossing_curves(piece)
    yield from _joint_faults(piece)
    yield from _stack_faults(piece)


def _doubled_ids(piece: Piece) -> Iterator[FieldError]:
    seen: set[str] = set()
    for name, path in piece.ids():
        if name in seen:
            yield FieldError(path, f"The id “{name}” is used already.")
        seen.add(name)


def _unknown_woods(piece: Piece) -> Iterator[FieldError]:
    known = {species.id for species in all_species()} | {wood.id for wood in piece.woods}
    for name, path in _woods_named(piece):
        if name is not None and name not in known:
            yield FieldError(path, f"There is no wood “{name}” here. Add it to woods.")


def _woods_named(piece: Piece) -> Iterator[tuple[str | None, str]]:
    for i, part in enumerate(piece.parts):
        yield part.wood, f"/parts/{i}/wood"
        for j, ring in enumerate(part.rings):
            path = f"/parts/{i}/rings/{j}"
            for k, wood in enumerate(ring.woods or ()):
                yield wood, f"{path}/woods/{k}"
            if ring.spacer:
                yield ring.spacer.wood, f"{path}/spacer/wood"
            if ring.plug:
                yield ring.plug.wood, f"{path}/plug/wood"


def curve_of(profile: Profile) -> Curve:
    """The curve through a profile's points; the same one for the same points, with its cuts."""
    return _curve(
        tuple(CurvePoint(_plain(p.r_mm), _plain(p.z_mm), p.corner) for p in profile.points)
    )


@lru_cache(maxsize=64)
def _curve(points: tuple[CurvePoint, ...]) -> Curve:
    return Curve.through(points)


def _plain(mm: float) -> float:
    """Next to nothing is nothing: the square of such a length would be no number any more."""
    return 0.0 if mm < SAME_POINT_MM else mm


def _crossing_curves(piece: Piece) -> Iterator[FieldError]:
    for i, part in enumerate(piece.parts):
        for side in ("outside", "inside"):
            profile: Profile | None = getattr(part, side)
            if profile is None:
                continue
            path = f"/parts/{i}/{side}/points"
            try:
                if not curve_of(profile).is_simple:
                    yield FieldError(path, "The curve crosses itself.")
            except CraftError as error:
                yield FieldError(path, str(error))


def _joint_faults(piece: Piece) -> Iterator[FieldError]:
    parts = {part.id for part in piece.parts}
    taken: set[tuple[str, str]] = set()
    group = {part.id: part.id for part in piece.parts}
    for i, joint in enumerate(piece.joints):
        missing = False
        for side, end in (("tenon", joint.tenon), ("mortise", joint.mortise)):
            if end.part not in parts:
                missing = True
                yield FieldError(f"/joints/{i}/{side}/part", f"There is no part “{end.part}”.")
            elif (end.part, end.end) in taken:
                yield FieldError(f"/joints/{i}/{side}", "Another joint is at this end already.")
            taken.add((end.part, end.end))
        if missing:
            continue
        one, other = group[joint.tenon.part], group[joint.mortise.part]
        if one == other:
            yield FieldError(f"/joints/{i}", "The joints run in a circle.")
        group = {part: one if head == other else head for part, head in group.items()}


def _stack_faults(piece: Piece) -> Iterator[FieldError]:
    parts = {part.id: part for part in piece.parts}
    glues = {glue.id for glue in all_glues()} | {glue.id for glue in piece.glues}
    stacked: set[str] = set()
    for i, stack in enumerate(piece.stacks):
        if stack.glue is not None and stack.glue not in glues:
            yield FieldError(f"/stacks/{i}/glue", f"There is no glue “{stack.glue}” here.")
        part = parts.get(stack.part)
        if part is None:
            yield FieldError(f"/stacks/{i}/part", f"There is no part “{stack.part}”.")
            continue
        own = {ring.id for ring in part.rings}
        for j, ring in enumerate(stack.rings):
            path = f"/stacks/{i}/rings/{j}"
            if ring not in own:
                yield FieldError(path, f"The part “{part.id}” has no ring “{ring}”.")
            elif ring in stacked:
                yield FieldError(path, f"The ring “{ring}” is on a stack already.")
            stacked.add(ring)
