"""The context of the saw bench's first sheet: one ring, its settings, its tally."""

import json
from dataclasses import dataclass
from urllib.parse import urlencode

from markupsafe import Markup

from server.exports.pictures.segment_sheet import SegmentFigure, Share, segment_sheet
from server.exports.pictures.segment_tally import TallyFigure, segment_tally
from server.exports.svg import to_svg
from server.rooms.saw_bench.says import broken_line, cut_line, describe, undo_line
from server.rooms.saw_bench.settings import Setting, settings
from server.rooms.saw_bench.sled import stop_moved_mm
from server.rooms.saw_bench.tally import KNOWN_TO_DEVICE, amount
from server.rooms.saw_bench.work import Cut, Job, SawWork

_TEN = 10


@dataclass(frozen=True, slots=True)
class Step:
    """A ring in the row of all that is sawn."""

    title: str
    short: str
    href: str
    done: bool
    here: bool
    woods: tuple[tuple[str, str], ...]
    words: str


@dataclass(frozen=True, slots=True)
class Choice:
    """One strip of the ring that is open."""

    words: str
    colour: str
    href: str
    here: bool
    done: bool


@dataclass(frozen=True, slots=True)
class TallyView:
    """The tally and what its buttons write. `known` names the newest lines that are in it."""

    strip: str
    cut: int
    wanted: int
    broken: int
    needed: int
    spare_words: str
    picture: Markup
    one: str
    ten: str
    broken_say: str
    undo: str | None
    undo_words: str
    known: str
    next_href: str | None


@dataclass(frozen=True, slots=True)
class RingView:
    """One strip of one ring at the saw."""

    title: str
    finished: str
    picture: Markup
    settings: tuple[Setting, ...]
    units: str
    choices: tuple[Choice, ...]
    tally: TallyView
    before: Step | None
    after: Step | None
    spare_ring: str | None
    to_rack: str | None


def ring_view(work: SawWork, job: Job, cut: Cut, address: str) -> RingView:
    """Everything the upper half of the sheet shows."""
    places = steps(work, job, address)
    at = next(k for k, one in enumerate(work.jobs) if one.id == job.id)
    words = f"{job.title}, {cut.wood.name}, {cut.needed} {_noun(cut)}"
    return RingView(
        title=words,
        finished=_finished(work, job),
        picture=to_svg(segment_sheet(_figure(job, cut)), "segment"),
        settings=settings(job, cut, stop_moved_mm(work)),
        units=work.piece.display_units,
        choices=tuple(_choice(job, one, cut, address) for one in job.cuts),
        tally=_tally(work, job, cut, address),
        before=places[at - 1] if at > 0 else None,
        after=places[at + 1] if at + 1 < len(places) else None,
        spare_ring=job.spare_ring,
        to_rack=_to_rack(work, job),
    )


def _to_rack(work: SawWork, job: Job) -> str | None:
    """Where a ring that is not used after all becomes a spare ring on the rack."""
    if job.worked is None or job.worked.flat is None:
        return None
    query = {"kind": "spare-ring", "piece": work.piece_id, "ring": job.id}
    return f"/lumber-rack/new?{urlencode(query)}"


def steps(work: SawWork, here: Job | None, address: str) -> tuple[Step, ...]:
    """All that is sawn for the piece, in order."""
    return tuple(_step(job, here, address) for job in work.jobs)


def place_of(job: Job, cut: Cut | None, address: str) -> str:
    """The address of a ring, and of one of its strips."""
    query = {"ring": job.id}
    if cut is not None and len(job.cuts) > 1:
        query["strip"] = cut.row.id
    return f"{address}?{urlencode(query)}"


def _step(job: Job, here: Job | None, address: str) -> Step:
    cut = sum(one.tally.cut for one in job.cuts)
    of = sum(one.needed for one in job.cuts)
    words = "spare ring" if job.spare_ring else f"{cut} of {of}"
    return Step(
        title=job.title,
        short=job.short,
        href=place_of(job, None, address),
        done=job.done,
        here=here is not None and job.id == here.id,
        woods=tuple(dict.fromkeys((one.wood.colour_hex, one.wood.name) for one in job.cuts)),
        words=words,
    )


def _choice(job: Job, one: Cut, here: Cut, address: str) -> Choice:
    words = f"{one.wood.name}, {one.words}" if one.row.kind != "segment" else one.wood.name
    return Choice(
        words=f"{words} {one.tally.cut}/{one.needed}",
        colour=one.wood.colour_hex,
        href=place_of(job, one, address),
        here=one.row.id == here.row.id,
        done=one.done,
    )


def _noun(cut: Cut) -> str:
    return cut.noun(cut.needed)


def _finished(work: SawWork, job: Job) -> str:
    worked = job.worked
    if worked is None or worked.finished_outside_mm is None:
        return "Sizes in mm."
    inside = worked.finished_inside_mm or 0.0
    size = f"Finished Ø {2 * worked.finished_outside_mm:.0f}"
    size += f" and {2 * inside:.0f}" if inside else ", solid"
    left = work.piece.allowance.outside_mm
    return f"{size}, {left:g} mm left on. Sizes in mm."


def _figure(job: Job, cut: Cut) -> SegmentFigure:
    row, worked = cut.row, job.worked
    stave = worked.stave if worked and row.kind == "stave" else None
    flat = worked.flat if worked and row.kind == "segment" else None
    finished = (worked.finished_outside_mm, worked.finished_inside_mm) if flat and worked else ()
    return SegmentFigure(
        name=f"One of {cut.needed}, {cut.wood.name}",
        outer_mm=row.outer_edge_mm,
        inner_mm=row.inner_edge_mm,
        width_mm=stave.blank_length_mm if stave else row.width_mm,
        thickness_mm=row.thickness_mm,
        mitre_deg=row.mitre_deg,
        colour=cut.wood.colour_hex,
        grain=cut.wood.grain_hex,
        radius_mm=worked.outside_mm if flat and worked else None,
        finished=tuple(radius for radius in finished if radius),
        ring=_shares(job, cut),
    )


def _shares(job: Job, cut: Cut) -> tuple[Share, ...]:
    """The segments of the ring, those of this strip marked."""
    worked = job.worked
    made = (worked.flat or worked.stave) if worked else None
    if worked is None or made is None or cut.row.kind not in ("segment", "stave"):
        return ()
    return tuple(
        Share(
            180.0 * share / sum(worked.ring.shares or (1.0,) * worked.ring.segments),
            wood == cut.row.wood and _alike(shape.outer_edge_mm, cut.row.outer_edge_mm),
        )
        for share, wood, shape in zip(
            worked.ring.shares or (1.0,) * worked.ring.segments,
            worked.woods,
            made.segments,
            strict=True,
        )
    )


def _alike(one_mm: float, other_mm: float) -> bool:
    return abs(one_mm - other_mm) < 1e-9


def _tally(work: SawWork, job: Job, cut: Cut, address: str) -> TallyView:
    tally, row = cut.tally, cut.row
    lean = 0.5 * (1 - row.inner_edge_mm / row.outer_edge_mm) if row.mitre_deg else 0.0
    figure = TallyFigure(tally.cut, cut.wanted, cut.needed, lean, cut.wood.colour_hex)
    newest = tally.newest
    after = next((one for one in job.cuts if not one.done and one.row.id != row.id), None)
    known: dict[str, list[int] | None] = {
        entry.id: [amount(entry, "count"), amount(entry, "broken")]
        for entry in tally.entries[-KNOWN_TO_DEVICE:]
    }
    known |= {entry.id: None for entry in tally.undone[-KNOWN_TO_DEVICE:]}
    return TallyView(
        strip=row.id,
        cut=tally.cut,
        wanted=cut.wanted,
        broken=tally.broken,
        needed=cut.needed,
        spare_words=_spares(cut),
        picture=to_svg(segment_tally(figure), "tens"),
        one=cut_line(job, cut, 1),
        ten=cut_line(job, cut, _TEN),
        broken_say=broken_line(job, cut),
        undo=undo_line(job, newest) if newest else None,
        undo_words=describe(newest) if newest else "",
        known=json.dumps(known),
        next_href=_onward(work, job, after, address) if cut.done else None,
    )


def _onward(work: SawWork, job: Job, after: Cut | None, address: str) -> str | None:
    """Where to go once this strip is done: the ring's next strip, or the next ring to saw."""
    if after is not None:
        return place_of(job, after, address)
    following = next((one for one in work.jobs if not one.done and one.id != job.id), None)
    return place_of(following, None, address) if following else None


def _spares(cut: Cut) -> str:
    spare = cut.wanted - cut.needed
    words = f"{cut.needed} and {spare} to spare" if spare > 0 else f"{cut.needed}, none to spare"
    return f"{words}, {cut.tally.broken} broken" if cut.tally.broken else words
