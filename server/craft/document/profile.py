"""The profile: points of a curve in the r-z half plane, from bottom to top."""

from typing import Annotated

from pydantic import Field

from server.craft.document.base import Distance, Doc

MOST_POINTS = 1000


class ProfilePoint(Doc):
    """One point; between two corners the curve is straight, elsewhere smooth."""

    r_mm: Distance
    z_mm: Distance
    corner: bool = False


class Profile(Doc):
    """A curve through all its points. Nothing is hollow below `floor_mm`."""

    points: Annotated[tuple[ProfilePoint, ...], Field(min_length=2, max_length=MOST_POINTS)]
    floor_mm: Distance | None = None
