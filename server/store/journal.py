"""Which journal SQLite may be trusted with, by the version that is linked."""

from dataclasses import dataclass

_REPAIRED = (3, 51, 3)
_REPAIRED_IN_BRANCH = {(3, 50): 7, (3, 44): 6}


@dataclass(frozen=True, slots=True)
class Journal:
    """The journal mode and how hard a commit is pushed to the disk."""

    mode: str
    synchronous: str

    @property
    def synchronous_level(self) -> int:
        """The number by which SQLite answers `PRAGMA synchronous`."""
        return {"FULL": 2, "EXTRA": 3}[self.synchronous]


def journal_for(version: tuple[int, int, int]) -> Journal:
    """The safe journal for a SQLite version.

    SQLite before 3.51.3 may lose a commit when a write-ahead log is reset while a second
    connection writes; 3.50.7 and 3.44.6 carry the repair (sqlite.org/wal.html, WAL-reset bug).
    Everything else gets the rollback journal, its directory synced after each commit.
    """
    patch_needed = _REPAIRED_IN_BRANCH.get(version[:2])
    repaired = version >= _REPAIRED or (patch_needed is not None and version[2] >= patch_needed)
    return Journal("WAL", "FULL") if repaired else Journal("DELETE", "EXTRA")
