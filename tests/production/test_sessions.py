"""A session in one recording: lines of the sample, joined here out of order, one twice, one begun and broken off."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
import soundfile
from production.films import HEADS, csv_text

from lipsync.app.take.session_cutting import _told_apart
from lipsync.app.take.taking import find_taking, write_taking
from lipsync.audio.recording import heard, read_recording
from lipsync.production.loading import open_production
from lipsync.production.sample import put_sample

FRAME_US = 41_667
RATE_HZ = 16_000
# Out of order; "020-c" twice, "010-a" begun, broken off, and said again.
ORDER = ("020-c", "010-a!", "010-a", "020-b", "020-c")


@pytest.fixture(scope="module")
def session(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, list[tuple[int, int]]]]:
    """A production, and from when to when each line was joined into recordings/session.wav, in microseconds."""
    folder = tmp_path_factory.mktemp("session") / "film"
    put_sample(folder)
    dice = np.random.default_rng(5)
    parts, joined, at = [np.zeros(RATE_HZ)], {}, RATE_HZ
    for name in ORDER:
        sound = read_recording(folder / f"recordings/{name.rstrip('!')}.wav")
        spans = heard(sound, 0, sound.duration_us, -60)
        own = sound.samples[spans[0][0] * RATE_HZ // 10**6 : spans[-1][1] * RATE_HZ // 10**6] / 32768
        if name.endswith("!"):
            own = own[: len(own) // 3]
        else:
            joined.setdefault(name, []).append((at * 10**6 // RATE_HZ, (at + len(own)) * 10**6 // RATE_HZ))
        pause = np.zeros(round(dice.uniform(0.6, 1.6) * RATE_HZ))
        parts += [own, pause]
        at += len(own) + len(pause)
    sound = np.concatenate(parts)
    sound += dice.normal(0, 10 ** (-66 / 20), len(sound))  # a room of -66 dB
    soundfile.write(folder / "recordings/session.wav", sound, RATE_HZ)
    return folder, joined


def test_lines_are_found_within_a_frame_of_where_they_were_joined(session, tmp_path: Path) -> None:
    folder, joined = session
    production = open_production(folder)
    lines = {line.id: (shot, line) for _, shot in production.shots() for line in shot.line}
    rows = []
    for id in sorted(joined):
        shot, line = lines[id]
        rows.append(
            ("01-lamp-room", shot.id, id, line.character, line.text, "session.wav", line.begins, "", "", "", "")
        )
    sheet = tmp_path / "list.csv"
    sheet.write_text(csv_text([HEADS, *rows]), "utf-8")
    from lipsync.app.take.taking import TakeOptions

    taking = find_taking(folder, [sheet], TakeOptions(part=True))
    assert taking.report.problems == ()
    assert {(one.line, one.what) for one in taking.differences} == {
        (id, what) for id in joined for what in ("re-recorded", "trimmed")
    }
    (message,) = taking.report.messages
    assert str(message).startswith("recordings/session.wav: line 020-c: is said 2 times")
    write_taking(taking)
    found = {line.id: line for _, shot in open_production(folder).shots() for line in shot.line}
    for id, times in joined.items():
        first_us, end_us = times[-1]
        assert abs(found[id].in_us - first_us) <= FRAME_US, id
        assert abs(found[id].out_us - end_us) <= FRAME_US, id
    # cut once, it is not listened to again
    again = find_taking(folder, [sheet], TakeOptions(part=True))
    assert (again.differences, again.report.messages) == ((), ())


@dataclass(frozen=True)
class Found:
    """As much of an alignment as is asked for here."""

    support: float


@pytest.mark.parametrize(
    ("surely", "told"),
    [
        # Said for certain somewhere else: so here it is the other.
        ({(4, 4): ("greeting", -1.8)}, "farewell"),
        # The one that fits best here may as well be a second take of what fits much better elsewhere.
        ({(4, 4): ("farewell", -1.8)}, "greeting"),
        # It fits no better elsewhere, or only in a run that these stretches are part of, or both are: not decided.
        ({(4, 4): ("greeting", -3.2)}, None),
        ({(1, 2): ("greeting", -1.8)}, None),
        ({(4, 4): ("greeting", -1.8), (6, 7): ("farewell", -1.7)}, None),
        ({}, None),
    ],
)
def test_of_two_lines_the_one_is_taken_that_is_not_said_elsewhere(surely, told) -> None:
    close = {(2, 2): [("farewell", Found(-3.1)), ("greeting", Found(-3.5))]}
    fits = {run: (id, Found(support)) for run, (id, support) in surely.items()}
    assert {run: id for run, (id, _) in _told_apart(close, fits).items()} == ({(2, 2): told} if told else {})
