"""The data folder: made at the first start, writable, and on a disk of this computer."""

import os
import tempfile
from pathlib import Path

from server.store.errors import StoreRefused

# SQLite's locks cannot be relied on there (sqlite.org/howtocorrupt.html, section 2.1).
_NETWORK_FILE_SYSTEMS = frozenset(
    {"nfs", "nfs4", "cifs", "smb3", "smbfs", "ncpfs", "afs", "fuse.sshfs", "fuse.davfs2"}
)
_MOUNTS = Path("/proc/self/mounts")


def ready_folder(data_dir: Path) -> Path:
    """The folder, made where it was missing. Raises StoreRefused with the reason and what to do."""
    try:
        data_dir.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=data_dir) as probe:
            probe.write(b"ringwright")
            probe.flush()
            os.fsync(probe.fileno())
    except OSError as error:
        raise StoreRefused(
            f"The data folder {data_dir} cannot be written to: {error.strerror}. "
            "Choose another one with --data."
        ) from error
    system = file_system(data_dir.resolve(), _mounts())
    if system in _NETWORK_FILE_SYSTEMS:
        raise StoreRefused(
            f"The data folder {data_dir} lies on a network share ({system}), where a database "
            "can be damaged. Choose a folder on this computer with --data."
        )
    return data_dir


def file_system(folder: Path, mounts: str) -> str:
    """The kind of file system that a folder lies on, by a table as in /proc/self/mounts."""
    best, kind = -1, ""
    for line in mounts.splitlines():
        fields = line.split(" ")
        if len(fields) < 3:
            continue
        at = Path(fields[1].replace("\\040", " "))
        if folder.is_relative_to(at) and len(at.parts) >= best:
            best, kind = len(at.parts), fields[2]
    return kind


def _mounts() -> str:
    try:
        return _MOUNTS.read_text(encoding="utf-8", errors="replace")
    except OSError:
        return ""
