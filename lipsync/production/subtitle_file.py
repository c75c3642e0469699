"""Subtitles, SRT and WebVTT, read as text with rough times; the only file that knows the library that reads them.

In: a path. Out: a `Listing` with a row for each subtitle. A name in capitals before a colon, or WebVTT's voice (`<v
Name>`), is the character; notes in brackets stay, since cues (breath, laugh) are written so in a line's text. Times
only name the place: a subtitle stays as long as it takes to read, not as long as it is said.
"""

from __future__ import annotations

import re
from pathlib import Path

from lipsync.errors import InputError
from lipsync.production.listed import Listed, Listing
from lipsync.production.text_table import decoded

SUBTITLES = (".srt", ".vtt")

_VOICE = re.compile(r"<v(?:\.[^ >]*)?\s+([^>]+)>", re.I)
_TAG = re.compile(r"<[^>]*>|\{\\[^}]*\}")
_SPEAKER = re.compile(r"([A-ZÀ-Þ][A-ZÀ-Þ0-9 .'’-]{0,38}):\s+(.*)", re.S)


def read_subtitles(path: Path) -> Listing:
    """Return what subtitles say.

    Raises:
        InputError: if they cannot be read, or there are none.
    """
    import pysubs2

    text, messages = decoded(path)
    form = "vtt" if path.suffix.lower() == ".vtt" else "srt"
    try:
        found = pysubs2.SSAFile.from_string(text, format_=form, keep_html_tags=True)
    except Exception:  # the library raises many kinds on a broken file
        found = pysubs2.SSAFile()
    rows = []
    for number, cue in enumerate(found, start=1):
        voice = _VOICE.search(cue.text)
        said = " ".join(_TAG.sub("", cue.text.replace("\\N", " ")).split())
        character = voice[1].strip() if voice else None
        if character is None and (named := _SPEAKER.fullmatch(said)):
            character, said = named[1], named[2]
        if said:
            place = f"cue {number} at {pysubs2.time.ms_to_str(cue.start, fractions=True)}"
            rows.append(Listed(str(path), place, character=character, text=said))
    if not rows:
        raise InputError.one(path, "", f"has no subtitle in the form of {form.upper()}; export them again")
    return Listing("subtitles", str(path), tuple(rows), messages=messages)
