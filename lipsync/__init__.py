"""lipsync: from recorded dialogue to the mouth piece on every frame.

>>> import lipsync
>>> callable(lipsync.break_down)
True
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from lipsync.model import Breakdown
    from lipsync.text.accents import Accent

__version__ = "0.1.0"
__all__ = ["break_down"]


def break_down(
    recording_path: str | os.PathLike[str],
    text: str,
    *,
    pronunciations: Mapping[str, Sequence[str]] | None = None,
    voice_factor: float | None = None,
    in_s: float | None = None,
    out_s: float | None = None,
    accent: Accent = "american",
) -> Breakdown:
    """Return the words and phonemes of a recorded line in time.

    Args:
        recording_path: WAV, FLAC, OGG, MP3 or AIFF.
        text: what is said, with cues in brackets: "Well [breath] hello."
        pronunciations: words that no dictionary has -> ways to say them, such as {"skerrivane": ["S K EH1 R ..."]}.
        voice_factor: by how much to slow the recording for the recogniser; found from the recording if None.
        in_s: where the line begins in the file, in seconds; its start if None.
        out_s: where it ends, in seconds; the file's end if None.
        accent: the speaker's, "american" or "non-rhotic".

    Returns:
        A value with `.words` and `.phonemes`, each with `.start_s` and `.end_s`, from `in_s`; phonemes with `.symbol`
        (ARPAbet without stress, SIL for silence) and `.stress`.

    Raises:
        lipsync.errors.LipsyncError: in one sentence, what to mend.
    """
    # The engines are loaded when first used, so that importing costs nothing.
    from lipsync.align.line import LineSettings, listen
    from lipsync.timing import us_of_seconds

    settings = LineSettings(
        pronunciations={
            word.lower(): tuple(tuple(way.split()) for way in ways) for word, ways in (pronunciations or {}).items()
        },
        voice_factor=voice_factor,
        in_us=None if in_s is None else us_of_seconds(in_s),
        out_us=None if out_s is None else us_of_seconds(out_s),
        accent=accent,
    )
    return listen(recording_path, text, settings)
