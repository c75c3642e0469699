"""What is wrong with the body of a request, in the desk's own words: the place, and what is allowed there.

In: the errors that pydantic found. Out: a sentence for each, for at most five of them.
"""

from __future__ import annotations

from pydantic import ValidationError
from pydantic_core import ErrorDetails

_MOST = 5
_LONGEST_NAME = 40

# Pydantic's name of an error -> the words for it. Names in braces are filled in with the error's own values.
_SAID = {
    "missing": "is missing",
    "extra_forbidden": "is nothing that is known here",
    "string_type": "must be text",
    "string_too_short": "must not be empty",
    "string_too_long": "may have {max_length} characters at most",
    "bool_type": "must be true or false",
    "int_type": "must be a whole number",
    "int_from_float": "must be a whole number",
    "float_type": "must be a number",
    "finite_number": "must be a number",
    "greater_than": "must be more than {gt:g}",
    "greater_than_equal": "must be {ge:g} or more",
    "less_than": "must be less than {lt:g}",
    "less_than_equal": "must be {le:g} or less",
    "literal_error": "must be {expected}",
    "union_tag_invalid": "is none of the changes that can be made: {expected_tags}",
    "union_tag_not_found": "must say which change it is",
    "model_type": "must be a table",
    "model_attributes_type": "must be a table",
    "dict_type": "must be a table",
    "list_type": "must be a list",
    "too_short": "must hold {min_length} at least",
    "too_long": "may hold {max_length} at most",
}


def sentence_of(error: ValidationError) -> str:
    """Return what is wrong with a body, in one text.

    >>> from pydantic import TypeAdapter
    >>> try:
    ...     TypeAdapter(dict[str, list[int]]).validate_python({"start_us": [1, "two"]}, strict=True)
    ... except ValidationError as found:
    ...     sentence_of(found)
    'start, number 2: must be a whole number'
    """
    said = []
    for detail in error.errors(include_url=False, include_input=False)[:_MOST]:
        place = ", ".join(filter(None, map(_name, detail["loc"])))
        said.append(f"{place}: {_words(detail)}" if place else _words(detail))
    return "; ".join(said)[:2000]


def _name(key: str | int) -> str:
    """Return a part of the place in plain words; an empty text for the name of a kind of change."""
    if isinstance(key, int):
        return f"number {key + 1}"
    if key == "change" or "-" in key or len(key) > _LONGEST_NAME:
        return ""
    return key.removesuffix("_us").replace("_", " ")


def _words(detail: ErrorDetails) -> str:
    values = detail.get("ctx", {})
    if detail["type"] == "value_error":
        return str(values["error"])
    return _SAID.get(detail["type"], "cannot be read here").format_map(values)
