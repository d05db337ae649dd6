"""What the craft says no to. None of these knows a web or a status code."""


class CraftError(ValueError):
    """The numbers given cannot be worked; the message is in a turner's words."""


class GeometryError(CraftError):
    """Geometry that cannot be made. `code` is the code of the check that reports it.

    Where one number is to blame, `value` does not pass `limit`, both in `unit`.
    """

    def __init__(
        self,
        code: str,
        message: str,
        value: float | None = None,
        limit: float | None = None,
        unit: str | None = None,
    ) -> None:
        super().__init__(message)
        self.code = code
        self.value = value
        self.limit = limit
        self.unit = unit


class FieldError(CraftError):
    """A value that is wrong in itself; `path` is a JSON pointer or a form field's name."""

    def __init__(self, path: str, message: str) -> None:
        super().__init__(message)
        self.path = path
        self.message = message
