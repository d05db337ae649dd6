"""Two said different: both sides in words, and one tap for each of them."""

from dataclasses import dataclass

from server.craft.floor import Contest, clock
from server.craft.ledger import Kind
from server.rooms.glue_bench.bench import Bench
from server.rooms.glue_bench.says import Button, settle


@dataclass(frozen=True, slots=True)
class Dispute:
    """Two said different: the sides in words, and the two buttons that settle it."""

    heading: str
    sides: tuple[str, ...]
    yes: Button
    no: Button


STATE_WORDS = {
    Kind.DRY_FITTED: ("dry-fits", "does not dry-fit"),
    Kind.HALVES_GLUED: ("halves glued", "halves not glued"),
    Kind.TRUED: ("trued", "not trued"),
    Kind.CLOSED: ("closed", "not closed"),
    Kind.FLATTENED: ("flat", "not flat"),
    Kind.CLAMPED: ("in the press", "not in the press"),
    Kind.RELEASED: ("out of the press", "not out of the press"),
    Kind.STACKED: ("on", "not on"),
    Kind.TURNED: ("turned", "not turned"),
    Kind.BORED: ("bored", "not bored"),
}


def dispute(bench: Bench, contest: Contest) -> Dispute:
    """Both sides in words, oldest first, and the two buttons."""
    label = bench.labels.get(contest.subject)
    what = f"ring {label}" if label else contest.subject
    sides = []
    for claim in sorted((*contest.standing, *contest.held), key=lambda c: c.mark.seq):
        yes, no = STATE_WORDS.get(claim.kind, ("so", "not so"))
        who = claim.mark.device or "The server’s own page"
        sides.append(
            f"{who}: {what} {yes if claim.holds else no}, {clock(claim.mark.at, bench.now)}"
        )
    if contest.against is not None:
        other = bench.labels.get(contest.against, contest.against)
        sides.insert(0, f"Ring {other} is in that press already")
    yes, no = STATE_WORDS.get(contest.kind, ("so", "not so"))
    mark = f"settle:{contest.subject}:{contest.kind}"
    return Dispute(
        heading=f"Two said different about {what}",
        sides=tuple(sides),
        yes=Button(f"It is: {yes}", settle(bench, contest, yes=True), mark=mark),
        no=Button(f"It is: {no}", settle(bench, contest, yes=False), mark=mark),
    )
