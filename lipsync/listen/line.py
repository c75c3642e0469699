"""One line: from its recording and its text to its breakdown.

In: the path of the recording, the text, and `LineSettings`. Out: a `Breakdown`, times from the `in` point.
"""

from __future__ import annotations

import os
from dataclasses import dataclass, field

from lipsync.listen.align import align
from lipsync.listen.dictionary import OwnList, pronounce
from lipsync.listen.recording import Recording, read_recording
from lipsync.listen.script import SpokenWord, tokens_of
from lipsync.model import Breakdown

# What a breakdown was computed with; raised by one whenever the same line would come out otherwise.
ENGINE = "pocketsphinx 5.1.1, listen 2"

# What computes a breakdown; raised when the same sound and text give another result.
ENGINE = "lipsync listening 1 (pocketsphinx 5.1.1)"


@dataclass(frozen=True, slots=True)
class LineSettings:
    """What is known of a line beside its sound and text.

    Attributes:
        pronunciations: the production's own: a word in small letters -> its pronunciations in ARPAbet with stress.
        voice_factor: the character's; None to find it from this line alone.
        in_us: where the line begins in the file; None for its start.
        out_us: where it ends; None for the file's end.
        fine: whether to look a second time for the boundaries; off, to see what that gains.
    """

    pronunciations: OwnList = field(default_factory=dict)
    voice_factor: float | None = None
    in_us: int | None = None
    out_us: int | None = None
    fine: bool = True


def listen(path: str | os.PathLike[str], text: str, settings: LineSettings | None = None) -> Breakdown:
    """Return the breakdown of one recorded line.

    Raises:
        LineError: if the recording or the text cannot be used, or they do not belong together.
    """
    settings = settings or LineSettings()
    return listen_to(read_recording(path, settings.in_us, settings.out_us), text, settings)


def listen_to(recording: Recording, text: str, settings: LineSettings | None = None) -> Breakdown:
    """Return the breakdown of a recording that has been read already; its part is the settings' part."""
    settings = settings or LineSettings()
    tokens = tokens_of(text, recording.path)
    said = [
        pronounce(token, settings.pronunciations, recording.path) for token in tokens if isinstance(token, SpokenWord)
    ]
    return align(recording, tokens, said, text, settings.voice_factor, fine=settings.fine)
