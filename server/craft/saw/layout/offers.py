"""Pricing every spot at every section length at once, to find the few worth laying."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from server.craft.saw.layout.problem import KEEP_LENGTH_UM, KEEP_WIDTH_UM, Wood
from server.craft.saw.layout.spots import NUMBERS, Candidate
from server.craft.saw.layout.values import Values

Floats = NDArray[np.floating[Any]]
SMALLEST_COST = 1e-9
"""Money below which wood counts as free."""


@dataclass(frozen=True, slots=True)
class Offer:
    """A section worth laying: which candidate, which length, how many units of width."""

    merit: float
    place: int
    column: int
    units: int


def best_offers(
    wood: Wood, unit_um: int, values: Values, places: Sequence[Candidate], most: int
) -> list[Offer]:
    """The best length for each spot, by value against cost; the best few, best first."""
    table = np.array([candidate.numbers for candidate in places])
    n = {name: table[:, [place]] for place, name in enumerate(NUMBERS)}
    limit = len(values.best) - 1
    lengths = values.lengths_um.astype(float)[None, :]
    fits = lengths <= n["room"]
    behind = n["reach"] - lengths - wood.cross_um
    kept = (behind >= KEEP_LENGTH_UM) & (n["rip_first"] == 0)
    end = np.where(kept, n["front"] + lengths, n["rest_length"])
    fixed = n["before"] - np.where(kept, behind * n["beyond"], 0.0)
    caps = np.minimum(n["units"], limit).astype(np.int64)
    plain = _merit(values.best[caps[:, 0]], fixed, fits)
    high = np.minimum(n["thrifty"], limit).astype(np.int64)
    picked = _thrifty(values, unit_um, n["above"][:, 0], high[:, 0])
    saved = _saved(wood, n, picked * float(unit_um), kept, behind, end)
    value = np.take_along_axis(values.best, picked, 0)
    thrifty = _merit(value, fixed - saved, fits & (saved > 0) & (high >= 0))
    return _ranked(plain, thrifty, caps, picked, most)


def _saved(
    wood: Wood,
    n: dict[str, Floats],
    used: Floats,
    kept: NDArray[np.bool_],
    behind: Floats,
    end: Floats,
) -> Floats:
    """Worth of the narrow offcuts beside the lanes, the section stretched to keep them."""
    longer = kept & (end < KEEP_LENGTH_UM) & (behind - (KEEP_LENGTH_UM - end) >= KEEP_LENGTH_UM)
    stretched = np.where(longer, float(KEEP_LENGTH_UM), end)
    above = n["above"] * stretched * np.maximum(n["headroom"] - used, 0)
    below = np.where(n["below"] >= KEEP_WIDTH_UM, n["below"] * n["above"] * end, 0.0)
    high = used - wood.rip_um
    block = (n["rip_first"] > 0) & (behind >= KEEP_LENGTH_UM) & (high >= KEEP_WIDTH_UM)
    saved = above + below - (stretched - end) * n["beyond"]
    saved = saved + np.where(block, n["above"] * behind * high, 0.0)
    return np.where(stretched >= KEEP_LENGTH_UM, saved, 0.0)


def _thrifty(
    values: Values, unit_um: int, above: Floats, high: NDArray[np.int64]
) -> NDArray[np.int64]:
    """For each spot and length: the width whose value less the rest it takes is highest."""
    picked = np.zeros((len(above), len(values.lengths_um)), np.int64)
    units = np.arange(len(values.best))[:, None]
    area = float(unit_um) * values.lengths_um[None, :] * units
    for price in sorted(set(above.tolist())):
        rows = np.flatnonzero((above == price) & (high >= 0))
        if len(rows):
            net = values.best - price * area
            top = np.maximum.accumulate(net, axis=0)
            table = np.maximum.accumulate(np.where(net >= top, units, 0), axis=0)
            picked[rows] = table[high[rows]]
    return picked


def _merit(value: Floats, cost: Floats, fits: NDArray[np.bool_]) -> Floats:
    return np.where(fits & (value > 0), value / np.maximum(cost, SMALLEST_COST), 0.0)


def _ranked(
    plain: Floats, thrifty: Floats, caps: NDArray[np.int64], picked: NDArray[np.int64], most: int
) -> list[Offer]:
    places = np.arange(len(plain))
    columns = np.concatenate([plain.argmax(axis=1), thrifty.argmax(axis=1)])
    half = len(places)
    merits = np.concatenate([plain[places, columns[:half]], thrifty[places, columns[half:]]])
    offers = []
    for place in np.argsort(-merits, kind="stable")[:most]:
        if merits[place] <= 0:
            break
        spot, column = int(place % half), int(columns[place])
        units = int(caps[spot, 0]) if place < half else int(picked[spot, column])
        offers.append(Offer(float(merits[place]), spot, column, units))
    return offers
