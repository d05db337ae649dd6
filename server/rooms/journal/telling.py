"""A line of the ledger in words."""

from collections.abc import Callable

from server.craft.ledger import Entry, Kind
from server.craft.units import format_length
from server.rooms.journal.names import Names

QUANTITIES = {
    "mortise_diameter": "mortise, across",
    "mortise_depth": "mortise, deep",
    "tenon_diameter": "tenon, across",
    "part_height": "height",
    "stack_height": "height of the stack",
    "depth": "depth from the rim",
    "off_axis": "off the axis by",
    "run_out": "runs out by",
    "temperature_c": "temperature",
    "humidity_percent": "humidity",
}
CUT_NOUNS = {
    "spacer": "spacer",
    "plug": "plug",
    "disc": "disc",
    "veneer": "veneer",
    "spindle": "blank",
}
HEARD = "heard"


def told(entry: Entry, names: Names) -> str:
    """What was done, as a sentence without its full stop."""
    words = _TELL[entry.kind](entry, names)
    return words[:1].upper() + words[1:]


def is_told(entry: Entry) -> bool:
    """Whether a line belongs into the journal: a quieted alarm does not."""
    return HEARD not in entry.data


def measured_words(entry: Entry, names: Names) -> str:
    """The value of a measurement with its unit, empty where there is none."""
    value = _number(entry, "value_mm")
    if value is not None:
        return format_length(value, names.units, 2)
    value = _number(entry, "value")
    if value is None:
        return ""
    unit = {"temperature_c": " °C", "humidity_percent": " %"}.get(_text(entry, "quantity"), "")
    return f"{value:g}{unit}"


def _number(entry: Entry, name: str) -> float | None:
    value = entry.data.get(name)
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value)


def _text(entry: Entry, name: str) -> str:
    value = entry.data.get(name)
    return value if isinstance(value, str) else ""


def _counted(count: float, noun: str) -> str:
    return f"{count:g} {noun}" if count == 1 else f"{count:g} {noun}s"


def _plain(words: str) -> Callable[[Entry, Names], str]:
    return lambda entry, names: words.format(names.of(entry.subject))


def _cut_noun(entry: Entry) -> str:
    """What was cut, by the kind that a strip's id ends with where it is no strip of segments."""
    kinds = _text(entry, "strip").split("/")[1:]
    return next((CUT_NOUNS[kind] for kind in kinds if kind in CUT_NOUNS), "segment")


def _cut(entry: Entry, names: Names) -> str:
    count, broken = _number(entry, "count"), _number(entry, "broken")
    words = f"{_counted(count, _cut_noun(entry))} of {names.of(entry.subject)} cut" if count else ""
    lost = f"{broken:g} broken" if broken else ""
    if words and lost:
        return f"{words}, {lost}"
    return words or f"{lost or 'segments cut'}, {names.of(entry.subject)}"


def _halves(entry: Entry, names: Names) -> str:
    minutes = _number(entry, "minutes")
    return f"halves of {names.of(entry.subject)} glued" + (f", {minutes:g} min" if minutes else "")


def _clamped(entry: Entry, names: Names) -> str:
    ring, more = names.of(entry.subject), _number(entry, "add_minutes")
    if more is not None:
        return f"{more:g} min more in the press for {ring}"
    plate, minutes = _text(entry, "faceplate"), _number(entry, "minutes")
    said = [f"{ring} into the press" + (f" on {plate}" if plate else "")]
    said += [f"{minutes:g} min"] if minutes else []
    glue = _text(entry, "glue")
    said += [names.glues.get(glue, glue)] if glue else []
    warm, damp = _number(entry, "temperature_c"), _number(entry, "humidity_percent")
    said += [f"{warm:g} °C"] if warm is not None else []
    said += [f"{damp:g} %"] if damp is not None else []
    return ", ".join(said)


def _released(entry: Entry, names: Names) -> str:
    plate, rest = _text(entry, "faceplate"), _number(entry, "rest_minutes")
    cure = _number(entry, "cure_hours")
    said = [f"{names.of(entry.subject)} out of the press" + (f" on {plate}" if plate else "")]
    said += [f"cures {cure:g} h"] if cure else [f"rests {rest:g} min"] if rest else []
    return ", ".join(said)


def _turned(entry: Entry, names: Names) -> str:
    return f"at the lathe: {names.of(entry.subject)}"


def _used(entry: Entry, names: Names) -> str:
    count, length = _number(entry, "count"), _number(entry, "length_mm")
    said = [f"from the rack: {names.rack.get(entry.subject, entry.subject.replace('-', ' '))}"]
    said += [_counted(count, "piece")] if count else []
    said += [format_length(length, names.units)] if length else []
    return ", ".join(said)


def _measured(entry: Entry, names: Names) -> str:
    quantity = _text(entry, "quantity")
    called = QUANTITIES.get(quantity, quantity.replace("_", " "))
    value = measured_words(entry, names)
    where = "the shop" if quantity in ("temperature_c", "humidity_percent") else ""
    return f"measured: {called} {value}, {where or names.of(entry.subject)}"


_TELL: dict[Kind, Callable[[Entry, Names], str]] = {
    Kind.CUT: _cut,
    Kind.DRY_FITTED: _plain("{} fits dry"),
    Kind.HALVES_GLUED: _halves,
    Kind.TRUED: _plain("halves of {} trued"),
    Kind.CLOSED: _plain("{} closed"),
    Kind.FLATTENED: _plain("{} flat"),
    Kind.CLAMPED: _clamped,
    Kind.RELEASED: _released,
    Kind.STACKED: _plain("{} on its stack"),
    Kind.TURNED: _turned,
    Kind.BORED: _plain("mortise bored, {}"),
    Kind.USED: _used,
    Kind.MEASURED: _measured,
    Kind.PHOTO: _plain("photo, {}"),
    Kind.NOTE: _plain("note, {}"),
    Kind.UNDONE: _plain("undone, {}"),
}
