"""Movies, looked at by decoding them again: frames and samples counted, times exact, flash and click together."""

import sys
from fractions import Fraction
from io import BytesIO
from itertools import combinations
from pathlib import Path

import av
import numpy as np
import pytest
from PIL import Image, ImageDraw

from lipsync import timing
from lipsync.app.hear.hearing import hear
from lipsync.app.plan.planning import plan
from lipsync.errors import InputError
from lipsync.fit.mouthset import load_mouth_set
from lipsync.preview import mixing, movie
from lipsync.preview.mixing import RATE_HZ, mixed
from lipsync.preview.movie import Movie, movie_bytes
from lipsync.preview.painting import Painter, on_the_way
from lipsync.preview.reel import Clip, Frame, ModelledStep, Seen, reel_of
from lipsync.production.loading import open_production
from lipsync.production.values import shipped
from tests.running import run

RATES = [Fraction(text) for text in ("24", "25", "30", "12", "48", "50", "60", "25/3",
                                     "24000/1001", "30000/1001", "48000/1001", "60000/1001")]  # fmt: skip
FORMS = ["mp4", "webm"]
SIZE = (64, 48)


def decoded(content: bytes) -> tuple[list[tuple[Fraction, float]], Fraction, np.ndarray]:
    """Return each picture's time and brightness, when the sound begins, and its samples."""
    with av.open(BytesIO(content)) as file:
        pictures = [(f.pts * f.time_base, float(f.to_ndarray(format="gray").mean())) for f in file.decode(video=0)]
    with av.open(BytesIO(content)) as file:
        frames = list(file.decode(audio=0))
    sound = np.concatenate([frame.to_ndarray() for frame in frames], axis=1)
    return pictures, frames[0].pts * frames[0].time_base, sound


def flashing(rate: Fraction, frames: int, each: int) -> Movie:
    """A movie that flashes white for one frame each so many, with a click where each flash begins."""
    samples = timing.sample_of_us(timing.frame_start_us(frames, rate), RATE_HZ)
    sound = np.zeros((samples, 2), np.float32)
    dark, bright = Image.new("RGB", SIZE, "black"), Image.new("RGB", SIZE, "white")
    for frame in range(each, frames, each):
        sound[round(frame / rate * RATE_HZ)] = 0.9
    return Movie(SIZE, rate, (bright if f and f % each == 0 else dark for f in range(frames)), sound)


def flashes_and_clicks(content: bytes) -> tuple[list[Fraction], list[Fraction]]:
    pictures, begins, sound = decoded(content)
    flashes = [time for time, brightness in pictures if brightness > 128]
    loud = np.abs(sound).max(axis=0)
    clicks, at = [], 0
    while at < len(loud):
        if loud[at] > 0.2:
            here = at + int(loud[at : at + 2000].argmax())
            clicks.append(begins + Fraction(here, RATE_HZ))
            at = here + 4000
        else:
            at += 1
    return flashes, clicks


@pytest.mark.parametrize("rate", RATES, ids=str)
@pytest.mark.parametrize("form", FORMS)
def test_frames_and_samples_are_counted_and_timed(rate: Fraction, form: movie.Form) -> None:
    frames = 25
    content = movie_bytes(flashing(rate, frames, each=20), form)
    pictures, begins, sound = decoded(content)
    assert len(pictures) == frames
    off = [abs(time - Fraction(index) / rate) for index, (time, _) in enumerate(pictures)]
    # MP4 holds the exact times; WebM whole milliseconds (RFC 9559: the default scale of its timestamps).
    assert max(off) <= (0 if form == "mp4" else Fraction(1, 2000))
    assert begins == 0
    expected = timing.sample_of_us(timing.frame_start_us(frames, rate), RATE_HZ)
    # A codec sends sound in blocks; what it adds at the end is shorter than one: 1024 samples of AAC, 960 of Opus.
    assert expected <= sound.shape[1] < expected + 1024


@pytest.mark.parametrize("rate", RATES, ids=str)
@pytest.mark.parametrize("form", FORMS)
def test_flash_and_click_come_out_together(rate: Fraction, form: movie.Form) -> None:
    """Within 1 ms by decoded times: far below the 45 ms from which on an error is noticed (ITU-R BT.1359-1)."""
    flashes, clicks = flashes_and_clicks(movie_bytes(flashing(rate, 64, each=20), form))
    assert len(flashes) == len(clicks) == 3
    assert max(abs(flash - click) for flash, click in zip(flashes, clicks, strict=True)) < Fraction(1, 1000)


def test_recordings_begin_on_their_sample_and_end_with_their_shot(tmp_path: Path) -> None:
    import soundfile

    path = tmp_path / "click.wav"
    samples = np.zeros(RATE_HZ, np.float32)
    samples[[0, 24_000, 47_999]] = 0.5
    soundfile.write(path, samples, RATE_HZ, subtype="FLOAT")
    mix = mixed([Clip(path, 250_000, 0, 1_000_000)], 2 * RATE_HZ)
    assert np.flatnonzero(mix[:, 0]).tolist() == [12_000, 36_000]  # the last click lies after its shot
    before = mixed([Clip(path, -500_000, 0, 1_000_000)], 2 * RATE_HZ)
    assert np.flatnonzero(before[:, 0]).tolist() == [0, 23_999]
    part = mixed([Clip(path, 0, 0, 1_000_000, in_us=500_000)], 2 * RATE_HZ)
    assert np.flatnonzero(part[:, 1]).tolist() == [0, 23_999]
    loud = mixed([Clip(path, 0, 0, 1_000_000)] * 3, RATE_HZ)
    assert float(np.abs(loud).max()) == 1.0


def test_a_reel_shows_what_the_sheet_says(sample: Path) -> None:
    production = open_production(sample)
    plans = plan(production, hear(production))
    reel = reel_of(production, plans.shots)
    assert len(reel.frames) == sum(shot.frames for _, shot in production.shots()) == 192 + 192 + 204 + 300
    assert reel.frames[0].timecode == "01:00:00:00"
    assert reel.frames[192].timecode == "01:00:08:00"
    shown = [seen.code for frame in reel.frames[192:384] for seen in frame.cast if seen.name == "Mr Clamp"]
    assert tuple(shown) == next(c.track.pieces for c in plans.shots[1].cast if c.character == "crab")
    # The crab is off camera from frame 61 to 108 of its shot: the scene file says so.
    hidden = [f.number for f in reel.frames[588:] if any(s.name == "Mr Clamp" and s.code is None for s in f.cast)]
    assert hidden == list(range(61, 109))
    begins = {clip.path.stem: clip.begins_us for clip in reel.clips}
    assert begins["020-b"] == 8_000_000 + 3_250_000


def test_a_shot_is_made_from_the_command_line(with_short_shots: Path) -> None:
    """A shot of 60 frames at 24: two and a half seconds (the scene's file)."""
    made = run("preview", with_short_shots, "--shot", "060")
    assert (made.code, made.err) == (0, "")
    (path,) = (with_short_shots / "previews").rglob("*.*")
    assert path.relative_to(with_short_shots).as_posix() == "previews/03-harbour/060.mp4"
    with av.open(path) as file:
        video, audio = file.streams.video[0], file.streams.audio[0]
        assert (video.frames, video.average_rate, (video.width, video.height)) == (60, 24, (1280, 720))
        assert (audio.rate, audio.duration * audio.time_base) == (48_000, Fraction(5, 2))


def test_a_scene_is_one_movie_of_all_its_shots(with_short_shots: Path) -> None:
    """Shots 050 and 060 one after the other, 60 frames each at 24: five seconds (the scene's file)."""
    made = run("preview", with_short_shots, "--scene", "03-harbour", "--form", "webm")
    assert (made.code, made.err) == (0, "")
    (path,) = (with_short_shots / "previews").rglob("*.*")
    assert path.relative_to(with_short_shots).as_posix() == "previews/03-harbour.webm"
    with av.open(path) as file:
        assert sum(1 for _ in file.decode(video=0)) == 120
    with av.open(path) as file:
        samples = sum(frame.samples for frame in file.decode(audio=0))
    assert 5 * RATE_HZ <= samples < 5 * RATE_HZ + 1024


def test_without_pyav_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "av", None)
    with pytest.raises(InputError, match=r'PyAV is not installed.*pip install "av>=16,<19"'):
        movie_bytes(flashing(Fraction(24), 2, each=1), "mp4")


@pytest.mark.parametrize("form", FORMS)
def test_the_same_shot_has_the_same_bytes(with_short_shots: Path, form: str) -> None:
    """At the size that users get: in frames of 64 x 48 the encoder itself varies with what lies in memory."""
    movies: list[bytes] = []
    for _ in range(2):
        assert run("preview", with_short_shots, "--shot", "050", "--form", form).code == 0
        (path,) = (with_short_shots / "previews").rglob("*.*")
        movies.append(path.read_bytes())
        path.unlink()
    assert movies[0] == movies[1]


def test_a_recording_that_is_gone_is_named(tmp_path: Path) -> None:
    with pytest.raises(mixing.LineError, match="cannot be read as sound"):
        mixed([Clip(tmp_path / "none.wav", 0, 0, 1)], 10)


def test_images_stand_beside_the_movie_numbered_as_its_frames(with_short_shots: Path) -> None:
    """Shot 050 has 60 frames from number 1 on (its scene's file); an image of an older, longer cut is taken away."""
    folder = with_short_shots / "previews" / "03-harbour" / "050"
    folder.mkdir(parents=True)
    (folder / "0061.png").write_bytes(b"old")
    made = run("preview", with_short_shots, "--shot", "050", "--images")
    assert (made.code, made.err) == (0, "")
    assert sorted(path.name for path in folder.iterdir()) == [f"{number:04}.png" for number in range(1, 61)]
    with av.open(folder.with_suffix(".mp4")) as file:
        first = next(file.decode(video=0)).to_ndarray(format="gray").astype(float)
    with Image.open(folder / "0001.png") as image:
        assert image.size == (1280, 720)
        assert abs(np.asarray(image.convert("L"), float) - first).mean() < 8  # the movie's own losses


def boxes_painted(painter: Painter, frame: Frame, monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, list[float]]]:
    """What a picture is made of: each text and each mouth with its box (left, top, right, bottom)."""
    found: list[tuple[str, list[float]]] = []
    write, paste = ImageDraw.ImageDraw.text, Image.Image.paste

    def written(draw, at, text, **how):  # type: ignore[no-untyped-def]
        if text:
            found.append((text, list(draw.textbbox(at, text, font=how["font"], anchor=how["anchor"]))))
        write(draw, at, text, **how)

    def pasted(picture, part, at):  # type: ignore[no-untyped-def]
        found.append(("mouth", [*at, at[0] + part.width, at[1] + part.height]))
        paste(picture, part, at)

    with monkeypatch.context() as patch:
        patch.setattr(ImageDraw.ImageDraw, "text", written)
        painter.paint(frame)
        painter.paint(frame)  # now every mouth is known, and only the picture itself is pasted into
        found.clear()
        patch.setattr(Image.Image, "paste", pasted)
        painter.paint(frame)
    return found


@pytest.mark.parametrize("count", range(1, 9))
@pytest.mark.parametrize("code", ["SHUT", None])
def test_nothing_in_a_picture_lies_over_anything(
    count: int, code: str | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    mouth_set = load_mouth_set(shipped("mouthsets") / "driftwood.toml")
    names = ("Zoë Wade", "Old Plumbeck of the Outer Pier", "Ænne Šťovíková", "Mr Clamp", "Widow Marrable", "Ferryman")
    seen = tuple(
        Seen(names[n % 6], mouth_set, code, n % 2 == 0, "undeliverable", "M", ModelledStep("OPEN2", 2, 3))
        for n in range(count)
    )
    frame = Frame("the pier", "harbour-wall.long-shot", 1_000_001, "01:00:00:00", seen)
    found = boxes_painted(Painter("Low Tide Post", {}), frame, monkeypatch)
    assert [text for text, _ in found].count("mouth") == (count if code else 0)
    for (one, a), (other, b) in combinations(found, 2):
        assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1], (one, a, other, b)
    for text, (left, top, right, bottom) in found:
        assert (left >= 0, top >= 0, right <= 1280, bottom <= 720) == (True,) * 4, text
    if count <= 6:
        assert {text for text, _ in found} >= set(names[:count])


def test_modelling_is_shown_in_words_and_on_the_mouth(sample: Path) -> None:
    """Where the sheet says toward, the movie does; the mouth is then between the two pieces, nearer to the next."""
    production = open_production(sample)
    plans = plan(production, hear(production))
    reel = reel_of(production, plans.shots)
    steps = [seen for frame in reel.frames for seen in frame.cast if seen.modelled is not None]
    assert len(steps) > 10
    for seen in steps:
        assert seen.code is not None
        assert seen.modelled is not None
        assert 1 <= seen.modelled.step <= seen.modelled.steps <= 3
        pieces = seen.mouth_set.by_code
        now, then = pieces[seen.code].lips, pieces[seen.modelled.code].lips
        shown = on_the_way(now, seen)
        for axis in ("opening", "width", "rounding", "teeth", "tongue"):
            part = seen.modelled.step / (seen.modelled.steps + 1)
            expected = getattr(now, axis) * (1 - part) + getattr(then, axis) * part
            assert getattr(shown, axis) == pytest.approx(expected, abs=1e-4)
    assert any(seen.alive for frame in reel.frames for seen in frame.cast)


@pytest.mark.parametrize("count", [0, 1, 3, 4, 18, 19, 40])
def test_however_many_are_in_a_shot_each_is_painted(count: int) -> None:
    mouth_set = load_mouth_set(shipped("mouthsets") / "driftwood.toml")
    seen = tuple(Seen(f"crab {n}", mouth_set, "SHUT", True, "word", "M") for n in range(count))
    frame = Frame("the pier", "010", 1, "01:00:00:00", seen)
    assert Painter("Low Tide Post", {}).paint(frame).size == (1280, 720)
