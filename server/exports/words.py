"""Text that people typed, made harmless for files: one line, writable, of a sensible length."""

import re
import unicodedata

LONGEST_LINE = 200
LONGEST_NAME = 60

_UNSEEN = frozenset({"Cc", "Cs", "Co", "Cn"})
_TURNERS = frozenset("\u200e\u200f\u061c\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""Marks that turn the direction of writing: the rest of a line would be read backwards."""

_RESERVED = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)$", re.IGNORECASE)


def one_line(text: str, longest: int = LONGEST_LINE) -> str:
    """The text without control and direction marks, its spaces and line ends single spaces.

    What is longer ends in an ellipsis.
    """
    # What cannot fit is not looked at: names may be tens of thousands of characters long.
    seen = "".join(_seen(mark) for mark in text[: 8 * longest])
    line = " ".join(seen.split())
    return line if len(line) <= longest else line[: longest - 1].rstrip() + "…"


def _seen(mark: str) -> str:
    if mark.isspace():
        return " "
    return "" if mark in _TURNERS or unicodedata.category(mark) in _UNSEEN else mark


def file_stem(name: str, fallback: str = "piece") -> str:
    """A file name without its extension: ASCII letters, digits and hyphens, safe on any system."""
    plain = unicodedata.normalize("NFKD", name[: 4 * LONGEST_NAME])
    ascii_only = plain.encode("ascii", "ignore").decode()
    stem = re.sub(r"[^A-Za-z0-9]+", "-", ascii_only).strip("-")[:LONGEST_NAME].strip("-")
    if not stem or _RESERVED.match(stem):
        return fallback
    return stem.lower()
