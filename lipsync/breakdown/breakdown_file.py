"""The breakdown of a line on disk: the record that people correct, read back exactly.

One TOML file a line, one phoneme a row. Times are seconds from the line's `in` point, with at most six places, so
that whole microseconds come back exactly; parts are counted from 0 among the computed ones. Frames are counted from 0
in the line's shot, so that they stay where they are when a production numbers its frames otherwise: with `first_frame
= 1001`, row 1013 on paper is frame 12 here. What the program says of them has the numbers on paper.

    form = "lipsync breakdown 1"    2 where it holds rejection or voice_without_text: older programs cannot read it
    line = "lantern-03"
    pieces = [
        { frame = 12, code = "OP2" },       this piece is put on the frame
        { frame = 20, forbid = "PT1" },     this one is kept off it
    ]

    [status]
    checked = false                 true when a person has listened to the line as it stands

    [source]                        what it was computed from
    text, recording                 as in the scene file
    fingerprint                     of the line's sound, from in to out
    in_s, out_s                     the stretch of the recording, if not all of it

    [computed]                      what was computed; written anew when the line is computed again
    duration_s, voice_factor, effort
    engine                          what computed it, and a code of all settings that bear on it
    rejection = "not said"        left out where sound and text match; the kinds: `lipsync.model.Rejection`
    voice_without_text = [                    voice that no word and no cue covers
        { start_s = 1.200, end_s = 1.460 },
    ]
    check                           code of the rows: rows edited in place are noticed, and become corrections
    [[computed.parts]]
    word = "lamp"
    from = "dictionary"             production, dictionary, guess or hand
    confidence = 0.93               left out if not judged; likewise level_db
    phonemes = [
        { start_s = 0.310, phoneme = "L", level_db = -24.5 },
        { start_s = 0.372, phoneme = "AE1", level_db = -18.0 },
    ]
    end_s = 0.590
    [[computed.parts]]
    cue = "breath"
    start_s, end_s

    [[corrected]]                   what a person corrected, laid over the computed parts
    note = "the K is late"          optional
    replaces = [                    the computed parts that it replaces; [] where a part is added
        { index = 3, text = "lamp", start_s = 0.310, end_s = 0.590 },   the times, optional: where the part was then
    ]
    [[corrected.parts]]             what stands instead, as under [computed]; parts = [] where the part is deleted

    [newer.source], [newer.computed]    a later computation from another text or sound, until it is accepted

    [end]                           the last lines, so that a file that was cut short is noticed
    of = "lantern-03"

Reading reports every fault in one go. `Kept.breakdown` is what stands: the rest of the program needs nothing else.
"""

from __future__ import annotations

from pathlib import Path

from lipsync.breakdown.correcting import corrections_between
from lipsync.breakdown.corrections import Correction, PieceChoice, Replaced, by_hand
from lipsync.breakdown.kept import Computation, Kept, Source, check_of
from lipsync.breakdown.merging import accept_newer, merge
from lipsync.errors import InputError
from lipsync.files import write_whole

__all__ = [
    "Computation",
    "Correction",
    "Kept",
    "PieceChoice",
    "Replaced",
    "Source",
    "accept_newer",
    "by_hand",
    "check_of",
    "corrections_between",
    "merge",
    "read",
    "read_bytes",
    "text_of",
    "write",
]


def read(path: Path) -> Kept:
    """Return what a file keeps of a line.

    Raises:
        InputError: if it cannot be read, or with every fault that is in it.
    """
    try:
        content = path.read_bytes()
    except OSError as error:
        raise InputError.one(
            path, "", f"cannot be read: {error.strerror or error}; check its name and place"
        ) from error
    return read_bytes(content, str(path))


def read_bytes(content: bytes, file: str) -> Kept:
    """Return what the bytes of a file keep of a line; `file` is its name in messages.

    Raises:
        InputError: with every fault that is in it.
    """
    from lipsync.breakdown.reading import kept_of  # pydantic takes its time to load: not before it is needed

    return kept_of(content, file)


def text_of(kept: Kept) -> str:
    """Return the text of the file that keeps a line."""
    from lipsync.breakdown import writing

    return writing.text_of(kept)


def write(path: Path, kept: Kept) -> None:
    """Write the file that keeps a line, whole or not at all.

    Raises:
        OutputError: if it cannot be written.
    """
    write_whole(path, text_of(kept).encode())
