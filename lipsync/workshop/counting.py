"""How many pieces a production takes, from its tracks.

In: each shot's track with its scene. Out: one row for each character and piece that is seen. The four numbers
have these names everywhere:

    frames seen      frames on which the piece is seen; over a character's pieces they sum to its frames on camera
    times fitted     how often it is put on: once for each hold, the piece worn at a shot's first frame included
    scenes           in which it is seen
    pieces needed    one of each piece seen for each of the character's puppets
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from lipsync.track import PieceTrack


@dataclass(frozen=True, slots=True)
class ShotTrack:
    """A track and where it belongs.

    Attributes:
        scene: the id of its scene.
        shot: the id of its shot.
        track: the pieces that are worn.
        filmed: the frames that are in the can.
        retaken: for each piece, how often it was put on in takes that were thrown away.
    """

    scene: str
    shot: str
    track: PieceTrack
    filmed: frozenset[int] = frozenset()
    retaken: Mapping[str, int] = field(default_factory=dict)

    def times_fitted(self) -> Counter[str]:
        """Return how often each piece is put on, including takes that were thrown away."""
        return Counter(fitting.code for fitting in self.track.fittings) + Counter(self.retaken)

    def times_to_come(self) -> Counter[str]:
        """Return for each piece worn on unfilmed frames how often it is put on in them; 0 if it is on already."""
        frames = enumerate(self.track.pieces)
        found = Counter({code: 0 for frame, code in frames if code is not None and frame not in self.filmed})
        found.update(one.code for one in self.track.fittings if one.frame not in self.filmed)
        return found


@dataclass(frozen=True, slots=True)
class CountRow:
    """One piece of one character: frames seen, times fitted, scenes in which it is seen, pieces needed."""

    character: str
    code: str
    frames_seen: int
    times_fitted: int
    scenes: tuple[str, ...]
    pieces_needed: int


def count(
    tracks: Iterable[ShotTrack], puppets: Mapping[str, int], order: Mapping[str, Sequence[str]]
) -> tuple[CountRow, ...]:
    """Return the count of each character's pieces.

    Args:
        tracks: every shot's tracks.
        puppets: how many puppets there are of each character.
        order: each character's codes in the order of its mouth set; a code that is not among them comes last.

    >>> track = PieceTrack("heron", ("REST", "OPEN1", "REST", None))
    >>> for row in count([ShotTrack("harbour", "010", track)], {"heron": 2}, {"heron": ["REST", "OPEN1"]}):
    ...     print(row.code, row.frames_seen, row.times_fitted, row.scenes, row.pieces_needed)
    REST 2 2 ('harbour',) 2
    OPEN1 1 1 ('harbour',) 2
    """
    seen: Counter[tuple[str, str]] = Counter()
    fitted: Counter[tuple[str, str]] = Counter()
    scenes: dict[tuple[str, str], dict[str, None]] = {}
    for shot in tracks:
        character = shot.track.character
        for code, frames in Counter(shot.track.pieces).items():
            if code is not None:
                seen[character, code] += frames
                scenes.setdefault((character, code), {})[shot.scene] = None
        fitted.update((character, fitting.code) for fitting in shot.track.fittings)
    characters = list(dict.fromkeys([*puppets, *(character for character, _ in seen)]))

    def place(key: tuple[str, str]) -> tuple[int, int, str]:
        codes = list(order.get(key[0], ()))
        return characters.index(key[0]), codes.index(key[1]) if key[1] in codes else len(codes), key[1]

    return tuple(
        CountRow(*key, seen[key], fitted[key], tuple(scenes[key]), puppets.get(key[0], 1))
        for key in sorted(seen, key=place)
    )
