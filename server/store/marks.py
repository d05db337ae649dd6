"""The program's remarks about its own state, kept in the database."""

from sqlmodel import Session

from server.store.tables import Mark

PROGRAM_VERSION = "program_version"
FURNISHED = "furnished"
STOPPED = "stopped"
CHECKED_AT = "checked_at"
SEEN_AT = "seen_at"
NETWORK = "network"
BELIEVED_AFTER = "clock_believed_after"


def read_mark(session: Session, name: str) -> str | None:
    """What was remarked, None when nothing was."""
    mark = session.get(Mark, name)
    return None if mark is None else mark.value


def set_mark(session: Session, name: str, value: str) -> None:
    """Remark something, in place of what was remarked before."""
    session.merge(Mark(name=name, value=value))
