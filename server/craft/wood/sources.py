"""Where a number comes from: every property of a material says so itself."""

from dataclasses import dataclass
from enum import StrEnum


class SourceKind(StrEnum):
    """How far a number can be trusted, from read in a publication to the user's own word."""

    READ = "read"
    REMEMBERED = "remembered"
    COMMON_PRACTICE = "common practice"
    USERS = "user's"


@dataclass(frozen=True, slots=True)
class Source:
    """The kind of a number's source and the publication or practice in words."""

    kind: SourceKind
    text: str


def common_practice(text: str) -> Source:
    """A number of the trade that no publication stands behind."""
    return Source(SourceKind.COMMON_PRACTICE, text)


def read_in(text: str) -> Source:
    """A number read in the publication named."""
    return Source(SourceKind.READ, text)


def remembered(text: str) -> Source:
    """A number remembered from the publication named, its text not read."""
    return Source(SourceKind.REMEMBERED, text)


def users(text: str = "Entered by the user") -> Source:
    """A number that the user entered."""
    return Source(SourceKind.USERS, text)
