"""The woods that are offered where one is chosen: those on the rack, the shop's own, all others."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fastapi import Request

from server.craft.wood.properties import Species
from server.craft.wood.species import all_species, with_user_woods
from server.exports.pictures.bodies import Face, face
from server.rooms.drawing_board.edits import Document
from server.rooms.drawing_board.propose import Stock, stock_of
from server.store import own_woods
from server.web.kept import kept
from server.web.stock import on_rack, things_of

Group = tuple[str, tuple[tuple[str, str], ...]]


@dataclass(frozen=True, slots=True)
class AtHand:
    """What the shop has: its own woods as documents, wood ids that lie there, boards by wood."""

    own: tuple[Mapping[str, Any], ...] = ()
    lying: tuple[str, ...] = ()
    boards: Mapping[str, Stock] | None = None

    @property
    def stock(self) -> Mapping[str, Stock]:
        """The most useful board of every wood."""
        return self.boards or {}


@dataclass(frozen=True, slots=True)
class Offer:
    """Woods to choose from: `groups` of (id, name) under a heading, and how each looks."""

    groups: tuple[Group, ...]
    colours: Mapping[str, Face]


def at_hand(request: Request) -> AtHand:
    """The shop as the request finds it; what is used up is not at hand."""
    own = kept(request, own_woods.own_woods)
    things = list(on_rack(things_of(request).values()))
    lying = dict.fromkeys(str(thing.document.get("wood") or "") for thing in things)
    boards = stock_of(thing.document for thing in things if thing.kind == "board")
    return AtHand(tuple(own), tuple(lying), boards)


def known(document: Mapping[str, Any], hand: AtHand) -> Mapping[str, Species]:
    """Every wood that a ring may be made of; the drawing's word goes before the shop's."""
    by_id = {str(wood["id"]): wood for wood in (*hand.own, *(document.get("woods") or ()))}
    return with_user_woods(by_id.values())


def offer(document: Mapping[str, Any], hand: AtHand) -> Offer:
    """The woods in the order in which somebody at the bench would look for one."""
    woods = known(document, hand)
    built_in = {species.id for species in all_species()}
    lying = [name for name in hand.lying if name in woods]
    own = [name for name in woods if name not in built_in and name not in lying]
    rest = [name for name in woods if name not in lying and name not in own]
    named = (("On the rack", lying), ("Own woods", own), ("Others", rest))
    return Offer(
        groups=tuple(
            (label, tuple((name, woods[name].name) for name in names)) for label, names in named
        ),
        colours={name: face(woods, name) for name in woods},
    )


def bring_along(document: Document, before: Mapping[str, Any], hand: AtHand) -> None:
    """An own wood of the shop that a drawing has come to name is written into the drawing.

    A drawing must say all that its plan needs, also in another shop.
    """
    drawn = {wood["id"] for wood in document.get("woods") or ()}
    new = set(_named(document)) - set(_named(before)) - drawn
    come = [dict(wood) for wood in hand.own if wood["id"] in new]
    if come:
        document["woods"] = [*(document.get("woods") or ()), *come]


def _named(document: Mapping[str, Any]) -> Iterator[str]:
    for part in document["parts"]:
        yield part.get("wood") or ""
        for ring in part.get("rings", ()):
            yield from _woods_of(ring)


def _woods_of(ring: Mapping[str, Any]) -> Sequence[str]:
    inner = [(ring.get(key) or {}).get("wood") or "" for key in ("spacer", "plug")]
    return [*(ring.get("woods") or ()), *inner]
