"""What was typed into a form, turned into values of the craft, or a message beside the field.

Nothing deeper than a room sees raw text. A `Fields` keeps what was typed, so that a page that
says no shows it again.
"""

import math
from collections.abc import Mapping, Sequence
from typing import Annotated

from fastapi import Depends, Request
from starlette.datastructures import FormData, UploadFile

from server.craft.errors import CraftError
from server.craft.units import Units, format_length, format_mm, parse_length
from server.web.lengths import field_text

MISSING = "Please fill this in."
_LONGEST_TEXT = 200


class Fields:
    """One form: asks for values by name, collects `errors` by name, keeps `typed`."""

    def __init__(self, form: Mapping[str, Sequence[str]], units: Units = "mm") -> None:
        """`form` maps names to all values sent; `units` is what a bare number means."""
        self._form = form
        self.units = units
        self.errors: dict[str, str] = {}
        self.typed: dict[str, str] = {name: all_[-1] for name, all_ in form.items() if all_}

    @property
    def ok(self) -> bool:
        """Whether nothing was wrong so far."""
        return not self.errors

    def wrong(self, name: str, message: str) -> None:
        """Put a message beside a field; the first one stays."""
        self.errors.setdefault(name, message)

    def has(self, name: str) -> bool:
        """Whether the form sent this field with something in it."""
        return bool(self.typed.get(name, "").strip())

    def all(self, name: str) -> list[str]:
        """Every value of a repeated field, as typed."""
        return list(self._form.get(name, ()))

    def flag(self, name: str) -> bool:
        """A box that was ticked."""
        return self.has(name)

    def text(self, name: str, *, required: bool = True, longest: int = _LONGEST_TEXT) -> str:
        """Words, trimmed."""
        value = self.typed.get(name, "").strip()
        if required and not value:
            self.wrong(name, MISSING)
        if len(value) > longest:
            self.wrong(name, f"At most {longest} characters, please.")
            return value[:longest]
        return value

    def choice(self, name: str, options: Sequence[str]) -> str:
        """One of `options`; the first where the form sent something else."""
        value = self.typed.get(name, "")
        if value in options:
            return value
        self.wrong(name, "Choose one of these.")
        return options[0]

    def length(
        self,
        name: str,
        *,
        low: float = 0.1,
        high: float = 3000.0,
        required: bool = True,
        was: float | None = None,
    ) -> float | None:
        """A length in mm within `low`..`high`; None where empty or wrong.

        `was` is the length that the field showed: it comes back whole as long as its text stands.
        """
        if not self.has(name):
            if required:
                self.wrong(name, MISSING)
            return None
        if was is not None and self.typed[name].strip() == field_text(was, self.units):
            return was
        try:
            value = parse_length(self.typed[name], self.units)
        except CraftError as no:
            self.wrong(name, str(no))
            return None
        if not low <= value <= high:
            self.wrong(name, self._between(low, high))
            return None
        return value

    def number(
        self,
        name: str,
        *,
        low: float = -math.inf,
        high: float = math.inf,
        required: bool = True,
    ) -> float | None:
        """A plain number, comma or point; None where empty or wrong."""
        if not self.has(name):
            if required:
                self.wrong(name, MISSING)
            return None
        try:
            value = float(self.typed[name].strip().replace("−", "-").replace(",", "."))
        except ValueError:
            self.wrong(name, f"“{self.typed[name].strip()[:40]}” is no number.")
            return None
        if not math.isfinite(value) or not low <= value <= high:
            self.wrong(name, self._range(low, high))
            return None
        return value

    def whole(self, name: str, *, low: int, high: int, required: bool = True) -> int | None:
        """A whole number within `low`..`high`; None where empty or wrong."""
        value = self.number(name, low=low, high=high, required=required)
        if value is None:
            return None
        if value != int(value):
            self.wrong(name, "A whole number, please.")
            return None
        return int(value)

    def _between(self, low: float, high: float) -> str:
        if self.units == "mm":
            return f"Between {format_mm(low)} and {format_mm(high, 0)} mm, please."
        top = format_length(high, "in")
        return f"At most {top}, please." if low <= 0 else f"More than 0 and at most {top}, please."

    @staticmethod
    def _range(low: float, high: float) -> str:
        if math.isinf(high):
            return f"At least {low:g}, please." if math.isfinite(low) else "That is no number."
        return f"Between {low:g} and {high:g}, please."


async def read_form(request: Request) -> dict[str, list[str]]:
    """The text fields of a posted form; files are left to the handler that expects them."""
    form: FormData = await request.form()
    read: dict[str, list[str]] = {}
    for name, value in form.multi_items():
        if not isinstance(value, UploadFile):
            read.setdefault(name, []).append(value)
    return read


FormText = Annotated[dict[str, list[str]], Depends(read_form)]
