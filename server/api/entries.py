"""A ledger line at the door: strict, and answered only once it is on disk."""

import uuid
from datetime import UTC
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

from server.api.moments import MomentText, read_moment
from server.craft.document import DocumentError
from server.craft.errors import FieldError
from server.craft.ledger import EntryDraft, Kind
from server.store.ledger_data import data_faults

LONGEST_NOTE = 20_000
LONGEST_NAME = 200

Name = Annotated[str, Field(min_length=1, max_length=LONGEST_NAME)]


class EntryIn(BaseModel):
    """What a device sends. The id is made by the device, so that a retry is the same line."""

    model_config = ConfigDict(strict=True, extra="forbid")

    id: Name = Field(description="A UUID made by the caller", json_schema_extra={"format": "uuid"})
    piece: Name
    part: Name | None = None
    kind: Name = Field(json_schema_extra={"enum": [str(kind) for kind in Kind]})
    subject: Name
    at: MomentText
    note: Annotated[str, Field(max_length=LONGEST_NOTE)] | None = None
    device: Name | None = None
    undoes: Name | None = None
    seen_seq: Annotated[int, Field(ge=0, le=2**53)] | None = None
    data: dict[str, Any] = Field(default_factory=dict)


def draft_of(sent: EntryIn, device: str | None) -> EntryDraft:
    """The line to write. `device` is who really spoke, where that is known.

    Raises DocumentError with everything that is wrong with it.
    """
    faults = [*_faults(sent), *data_faults(sent.data)]
    if faults:
        raise DocumentError(faults)
    return EntryDraft(
        id=str(uuid.UUID(sent.id)),
        piece=sent.piece,
        part=sent.part,
        kind=Kind(sent.kind),
        subject=sent.subject,
        at=read_moment(sent.at).astimezone(UTC),
        at_said=sent.at,
        note=sent.note,
        device=device or sent.device,
        undoes=None if sent.undoes is None else str(uuid.UUID(sent.undoes)),
        seen_seq=sent.seen_seq,
        data=sent.data,
    )


def _faults(sent: EntryIn) -> list[FieldError]:
    faults = []
    for path, text in (("/id", sent.id), ("/undoes", sent.undoes)):
        if text is not None and not _is_uuid(text):
            faults.append(FieldError(path, "This must be a UUID."))
    if sent.kind not in set(Kind):
        faults.append(FieldError("/kind", f"This must be one of {', '.join(Kind)}."))
    if sent.kind == Kind.UNDONE and sent.undoes is None:
        faults.append(FieldError("/undoes", "Say which entry is undone."))
    if sent.kind != Kind.UNDONE and sent.undoes is not None:
        faults.append(FieldError("/undoes", "Only the kind “undone” undoes another entry."))
    try:
        read_moment(sent.at).astimezone(UTC)
    except OverflowError:
        faults.append(FieldError("/at", "There is no such time."))
    return faults


def _is_uuid(text: str) -> bool:
    try:
        uuid.UUID(text)
    except ValueError:
        return False
    return True
