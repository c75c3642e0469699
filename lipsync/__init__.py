"""lipsync: from recorded dialogue to the mouth piece on every frame.

A single line:

>>> import lipsync
>>> callable(lipsync.break_down)
True

A whole production, stage by stage: `open_production`, `hear`, `plan`, then `write_sheets`, `count_pieces`,
`order_pieces` and `write_tracks`. lipsync/manual/python.md shows how they are used. An error that a person can mend
is raised as `LipsyncError`; one that concerns a single line or shot is in the `report` of the value that is returned.

Folders and files may be given as text or as paths. Times are in whole microseconds where a name ends in `_us`, in
seconds where it ends in `_s`; frames are counted from 0.
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from lipsync.version import VERSION

if TYPE_CHECKING:
    from lipsync.app.hear.heard import Heard, HeardLine, Only
    from lipsync.app.hear.hearing import hear
    from lipsync.app.order.counts import count_pieces, write_count
    from lipsync.app.order.order_files import write_order
    from lipsync.app.order.ordering import order_pieces
    from lipsync.app.order.workshop_order import WorkshopOrder
    from lipsync.app.plan.planning import CastPlan, Plans, ShotPlan, plan
    from lipsync.app.print.printing import Printed, write_sheets
    from lipsync.app.print.tracking import write_tracks
    from lipsync.errors import InputError, LineError, LipsyncError, OutputError, Problem
    from lipsync.message import Message
    from lipsync.model import Breakdown, Cue, Phoneme, Word
    from lipsync.production.loading import open_production
    from lipsync.production.sample import put_sample
    from lipsync.production.starting import start_production
    from lipsync.production.values import Production
    from lipsync.report import Report
    from lipsync.text.accents import Accent
    from lipsync.track import FrameTrack, Sound
    from lipsync.workshop.counting import CountRow

__version__ = VERSION
__all__ = [
    "Breakdown",
    "CastPlan",
    "CountRow",
    "Cue",
    "FrameTrack",
    "Heard",
    "HeardLine",
    "InputError",
    "LineError",
    "LipsyncError",
    "Message",
    "Only",
    "OutputError",
    "Phoneme",
    "Plans",
    "Printed",
    "Problem",
    "Production",
    "Report",
    "ShotPlan",
    "Sound",
    "Word",
    "WorkshopOrder",
    "break_down",
    "count_pieces",
    "hear",
    "open_production",
    "order_pieces",
    "plan",
    "put_sample",
    "start_production",
    "write_count",
    "write_order",
    "write_sheets",
    "write_tracks",
]

# Module -> the names that it defines. A module is imported when one of its names is first used, so that
# `import lipsync` is quick.
_NAMES_IN = {
    "app.order.counts": ("count_pieces", "write_count"),
    "app.hear.heard": ("Heard", "HeardLine", "Only"),
    "app.hear.hearing": ("hear",),
    "app.order.order_files": ("write_order",),
    "app.order.ordering": ("order_pieces",),
    "app.order.workshop_order": ("WorkshopOrder",),
    "app.plan.planning": ("CastPlan", "Plans", "ShotPlan", "plan"),
    "app.print.printing": ("Printed", "write_sheets"),
    "app.print.tracking": ("write_tracks",),
    "errors": ("InputError", "LineError", "LipsyncError", "OutputError", "Problem"),
    "message": ("Message",),
    "model": ("Breakdown", "Cue", "Phoneme", "Word"),
    "production.loading": ("open_production",),
    "production.sample": ("put_sample",),
    "production.starting": ("start_production",),
    "production.values": ("Production",),
    "report": ("Report",),
    "track": ("FrameTrack", "Sound"),
    "workshop.counting": ("CountRow",),
}
_MODULE_OF = {name: module for module, names in _NAMES_IN.items() for name in names}

if not TYPE_CHECKING:

    def __getattr__(name: str) -> Any:
        """Return the value of a name of `__all__` from the module that defines it."""
        from importlib import import_module

        if name not in _MODULE_OF:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        return getattr(import_module(f"lipsync.{_MODULE_OF[name]}"), name)

    def __dir__() -> list[str]:
        return sorted([*globals(), *_MODULE_OF])


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
        pronunciations: word -> its pronunciations in ARPAbet with stress, for words that no dictionary has, such as
            {"skerrivane": ["S K EH1 R ..."]}.
        voice_factor: by how much to slow the recording for the recogniser, 0.5 to 2; found from the recording if
            None.
        in_s: where the line begins in the file, in seconds; the file's start if None.
        out_s: where the line ends in the file, in seconds; the file's end if None.
        accent: the speaker's, "american" or "non-rhotic".

    Returns:
        The breakdown. Its `.words` and `.phonemes` have `.start_s` and `.end_s`, in seconds from `in_s`; phonemes
        have `.symbol` (ARPAbet without stress, SIL for silence) and `.stress`.

    Raises:
        lipsync.errors.LipsyncError: if the recording, the text or a setting cannot be used; it says what to mend.
    """
    # The engines are imported here, so that `import lipsync` is quick.
    from lipsync.align.line import listen
    from lipsync.align.settings import LineSettings
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
