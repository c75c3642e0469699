"""What is told of a line whose sound and text do not match: what was found, and what a person can do."""

from __future__ import annotations

from collections.abc import Mapping

from lipsync.model import Mismatch

_TO_MEND = "check its text, its in and out and its voice factor, or place its words by hand"

REASONS: Mapping[Mismatch, str] = {
    Mismatch.OTHER_WORDS: f"its text is not what is said in the recording, as far as can be heard; {_TO_MEND}",
    Mismatch.NOT_FOUND: f"its text was not found in the recording; {_TO_MEND}",
    Mismatch.NO_VOICE: f"nobody is heard to speak in the recording; {_TO_MEND}",
    Mismatch.TOO_FAST: f"its text has more sounds than anyone could say in the time; {_TO_MEND}",
    Mismatch.TEXT_TOO_SHORT: f"most of what is heard is not in its text; {_TO_MEND}",
    Mismatch.STOPPED: f"the search for its text took too long and was stopped; {_TO_MEND}",
    Mismatch.NOT_HEARD: "nobody has listened to it yet; run `lipsync breakdown`, or place its words by hand",
    Mismatch.NOT_READ: "its text cannot be read aloud; write it otherwise, or place its words by hand",
}
