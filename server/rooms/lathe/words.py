"""Holds and gates in a turner's words."""

from datetime import datetime

from server.craft.floor import clock
from server.craft.lathe.gauges_reach import Reach
from server.craft.lathe.holds import Hold, Way
from server.craft.lathe.steps_gates import Gate, StepState
from server.craft.units import Units, format_length
from server.craft.worked.piece import WorkedPart

HOLD_WORDS = {
    Way.FACEPLATE: "faceplate",
    Way.BETWEEN_CENTRES: "between centres",
    Way.RECESS: "jaws opening in a recess",
    Way.TENON: "jaws closing on a tenon",
    Way.RING_CLAMP: "ring clamp",
    Way.GLUED_GROOVE: "groove in a waste block, glued all round",
    Way.JAM_CHUCK: "jam chuck",
    Way.BY_HAND: "in the hand",
}
_SHORT = {Way.RECESS: "recess", Way.TENON: "tenon", Way.GLUED_GROOVE: "groove"}


def hold_words(hold: Hold | None) -> str:
    """A hold in a few words, without sizes."""
    if hold is None:
        return "at the bench"
    words = HOLD_WORDS[hold.way]
    if hold.way is Way.FACEPLATE and hold.faceplate:
        words = f"faceplate {hold.faceplate}"
    more = []
    if hold.tailstock and hold.way is not Way.BETWEEN_CENTRES:
        more.append("tailstock up")
    if hold.steady:
        more.append("steady")
    return ", ".join([words, *more])


def short_hold(hold: Hold | None) -> str:
    """A hold in a word or two, for the title block."""
    if hold is None:
        return "none"
    plate = hold.way is Way.FACEPLATE and hold.faceplate
    return f"faceplate {hold.faceplate}" if plate else _SHORT.get(hold.way, HOLD_WORDS[hold.way])


def hold_size(hold: Hold | None, units: Units) -> str:
    """What to make or set for a hold, in a sentence; empty where nothing is."""
    if hold is None or hold.size_mm is None:
        return ""
    size = format_length(hold.size_mm, units)
    match hold.way:
        case Way.RING_CLAMP:
            at = "" if hold.at_mm is None else f", at {format_length(hold.at_mm, units)} up"
            return f"Opening of the ring clamp Ø {size} on the wood{at}; add its lining."
        case Way.RECESS:
            return f"Recess Ø {size} for {hold.jaws}."
        case Way.TENON:
            jaws = f"for {hold.jaws}" if hold.jaws else "and no jaws of yours close on that"
            return f"Tenon Ø {size}, {jaws}."
        case Way.JAM_CHUCK:
            return f"Jam chuck to fit Ø {size}, a trace of taper."
        case Way.GLUED_GROOVE:
            return f"Groove to fit Ø {size}, a bead of hot glue all round."
        case Way.FACEPLATE:
            return f"Waste block Ø {size}."
        case _:
            return ""


def reach_words(seen: Reach | None, part: WorkedPart, units: Units) -> str:
    """Opening, depth and what a straight bar does not get at, in a sentence."""
    if seen is None:
        return ""
    bar = format_length(seen.bar_mm, units)
    opening = format_length(seen.opening_mm, units)
    if not seen.enters:
        return f"A bar of {bar} does not go through the opening of {opening}."
    said = f"Through an opening of Ø {opening}, {format_length(seen.depth_mm, units)} deep."
    if seen.hidden_mm is not None:
        low, high = (format_length(z - part.z0_mm, units) for z in seen.hidden_mm)
        said += f" A straight bar does not get at the wall from {low} to {high} up: a bent tool."
    if seen.chatters:
        out = format_length(seen.overhang_mm, units)
        said += f" The tip stands {out} out: a stout bar, light cuts."
    return said


def gate_words(state: StepState, now: datetime) -> tuple[str, ...]:
    """Why a step is shut, or too early, with the time it opens where that is known."""
    if state.gate not in (Gate.SHUT, Gate.EARLY):
        return ()
    return tuple(
        f"{reason.words} It opens {_when(reason.until, now)}." if reason.until else reason.words
        for reason in state.reasons
    )


def _when(until: datetime, now: datetime) -> str:
    hours = (until - now).total_seconds() / 3600
    stretch = f"in {hours:.0f} h, " if hours >= 1.5 else ""
    return f"{stretch}at {clock(until, now)}" if hours < 24 * 6 else f"{stretch}on {until:%d %b}"
