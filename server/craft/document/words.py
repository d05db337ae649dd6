"""Words for what is wrong with a document, and a way for a model to say where inside it."""

from pydantic_core import ErrorDetails, PydanticCustomError


def say(message: str, *where: str | int) -> PydanticCustomError:
    """An error in our own words at `where` inside the object that is being read."""
    context = {"where": list(where), "text": message}
    return PydanticCustomError("ringwright", "{text}", context)


def _number(value: object) -> str:
    return f"{value:g}" if isinstance(value, int | float) else str(value)


def plain_words(error: ErrorDetails) -> str:
    """A validation error in the words of the shop, without the value that was given."""
    context = error.get("ctx") or {}
    limits = {key: _number(value) for key, value in context.items() if key in _BOUNDS}
    kind = error["type"]
    if kind in _SAYINGS:
        return _SAYINGS[kind].format(**{**context, **limits})
    return error["msg"]


_BOUNDS = ("ge", "gt", "le", "lt", "min_length", "max_length")
_SAYINGS = {
    "missing": "This is missing.",
    "extra_forbidden": "There is no such field.",
    "float_type": "This must be a number, written without quotation marks.",
    "int_type": "This must be a whole number, written without quotation marks.",
    "int_from_float": "This must be a whole number.",
    "bool_type": "This must be true or false.",
    "string_type": "This must be text.",
    "string_unicode": "This text holds characters that cannot be written.",
    "string_pattern_mismatch": "Use lower-case letters, digits and hyphens.",
    "string_too_short": "This must not be empty.",
    "string_too_long": "This is too long: {max_length} characters at most.",
    "list_type": "This must be a list.",
    "tuple_type": "This must be a list.",
    "dict_type": "This must be an object.",
    "model_type": "This must be an object.",
    "model_attributes_type": "This must be an object.",
    "greater_than": "This must be more than {gt}.",
    "greater_than_equal": "This must be at least {ge}.",
    "less_than": "This must be less than {lt}.",
    "less_than_equal": "This must be at most {le}.",
    "finite_number": "This must be an ordinary number.",
    "too_short": "At least {min_length} are needed here.",
    "too_long": "At most {max_length} are allowed here.",
    "literal_error": "This must be {expected}.",
    "none_required": "This must be null.",
}
