"""Counts add up. Expected numbers are counted by hand from the tracks written here."""

from __future__ import annotations

import random
from itertools import groupby

from lipsync.track import PieceTrack
from lipsync.workshop.counting import ShotTrack, count


def track_of(character: str, codes: list[str | None]) -> PieceTrack:
    return PieceTrack(character, tuple(codes))


def test_by_hand() -> None:
    tracks = [
        ShotTrack("harbour", "010", track_of("heron", ["A", "A", "B", None, "B", "A"])),
        ShotTrack("pier", "020", track_of("heron", ["B", "C"])),
        ShotTrack("pier", "020", track_of("crab", [None, None])),
    ]
    rows = count(tracks, {"heron": 2, "crab": 1}, {"heron": ["C", "A", "B"]})
    assert [(r.code, r.frames_seen, r.times_fitted, r.scenes, r.pieces_needed) for r in rows] == [
        ("C", 1, 1, ("pier",), 2),
        ("A", 3, 2, ("harbour",), 2),
        ("B", 3, 2, ("harbour", "pier"), 2),  # still worn when the heron comes back on camera: not put on again
    ]


def test_frames_seen_sum_to_the_frames_on_camera() -> None:
    seed = random.Random(4)
    tracks = [
        ShotTrack(f"s{n % 3}", f"{n}", track_of(who, seed.choices(["A", "B", "C", None], k=40)))
        for n in range(30)
        for who in ("heron", "crab")
    ]
    rows = count(tracks, {"heron": 3, "crab": 1}, {})
    for who in ("heron", "crab"):
        pieces = [t.track.pieces for t in tracks if t.track.character == who]
        own = [row for row in rows if row.character == who]
        assert sum(row.frames_seen for row in own) == sum(code is not None for p in pieces for code in p)
        # A second way to count fittings: runs of one code among the frames on camera.
        runs = sum(len(list(groupby(code for code in p if code is not None))) for p in pieces)
        assert sum(row.times_fitted for row in own) == runs


def test_who_has_no_number_of_puppets_has_one() -> None:
    (row,) = count([ShotTrack("harbour", "010", track_of("gull", ["A"]))], {"heron": 2}, {})
    assert (row.character, row.pieces_needed) == ("gull", 1)


def test_takes_that_were_thrown_away_count_as_fittings() -> None:
    shot = ShotTrack("harbour", "010", track_of("heron", ["A", "A", "B", "A"]), retaken={"A": 2, "C": 1})
    assert shot.times_fitted() == {"A": 4, "B": 1, "C": 1}


def test_what_is_still_put_on_once_the_first_frames_are_filmed() -> None:
    shot = ShotTrack("harbour", "010", track_of("heron", ["A", "A", "B", None, "C", "A"]), filmed=frozenset({0}))
    assert dict(shot.times_to_come()) == {"A": 1, "B": 1, "C": 1}  # the first "A" is on already
    most = ShotTrack("harbour", "010", track_of("heron", ["A", "B", "C", "C"]), filmed=frozenset({0, 1, 2}))
    assert dict(most.times_to_come()) == {"C": 0}  # it stays on; "A" and "B" are over
