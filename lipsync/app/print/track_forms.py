"""The forms in which a track can be written: one table, for the command and for the use case.

It imports nothing heavy, so that the command line can show it at once; tracking.py has the function of each form.
"""

from __future__ import annotations

from enum import StrEnum


class TrackForm(StrEnum):
    """A form of a track, as `track --as` names it."""

    TEXT = "text"
    CSV = "csv"
    JSON = "json"
    WEBVTT = "webvtt"


_NAMES = [form.value for form in TrackForm]
FORM_NAMES = f"{', '.join(_NAMES[:-1])} or {_NAMES[-1]}"  # all of them, as a sentence lists them
