"""What is to be told of a production's lines that is no fault of any: remarks, for the person who hears them.

In: a production, or a line with what is kept of it. Out: sentences with file, place and what to do.
"""

from __future__ import annotations

from collections.abc import Iterator

from lipsync.keep.breakdown import Kept
from lipsync.listen.script import key_of
from lipsync.production.values import Production
from lipsync.steps.heard import PlacedLine

# Chosen: of 38 recordings of people and 320 synthesised lines those of five words and more have at most a third of
# them doubtful; another line's text may have nearly all.
_LEAST_WORDS, _MOST_DOUBTFUL = 5, 0.6


def of_production(production: Production) -> Iterator[str]:
    """Yield what is to be told of all its lines: that there are none, and pronunciations of words in none."""
    lines = [line for _, shot in production.shots(None, None) for line in shot.line]
    if not lines:
        yield f"{production.folder / 'scenes'}: no shot has a line yet; write each into its shot, under [[shot.line]]"
        return
    spoken = key_of(" ".join(line.text for line in lines))
    for word in production.file.pronunciations:
        if key_of(word) not in spoken:
            file = production.folder / "production.toml"
            yield f"{file}: [pronunciations]: {word!r} is in no line; write it as the lines do, or take it out"


def of_line(placed: PlacedLine, kept: Kept) -> Iterator[str]:
    """Yield that nearly all of a line is doubtful, unless a person has checked it."""
    words = kept.breakdown.words
    doubtful = sum(word.doubtful for word in words)
    if len(words) >= _LEAST_WORDS and doubtful >= _MOST_DOUBTFUL * len(words) and not kept.checked:
        yield (
            f"{placed.scene.path}: {placed.place}: {doubtful} of its {len(words)} words are doubtful; check that its "
            "text is what this recording says"
        )
