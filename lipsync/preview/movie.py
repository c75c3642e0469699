"""Pictures and sound into one file. The only file that knows PyAV.

In: pictures in order, an exact rate, samples at 48 kHz. Out: the bytes of an MP4 (H.264 and AAC) or a WebM (VP9 and
Opus). In MP4 each frame's time is a whole number of the rate's own units, so nothing is rounded; WebM counts whole
milliseconds (its own rule, RFC 9559), so a frame there is shown up to half a millisecond early or late, and the error
does not add up. Sound is written a second at a time, so that the file plays from anywhere.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from lipsync.errors import InputError
from lipsync.preview.mixing import RATE_HZ, Samples

if TYPE_CHECKING:
    from PIL.Image import Image

Form = Literal["mp4", "webm"]

# Form -> codecs of picture and sound, and what is asked of the picture's: good enough to judge lips by, and quick.
_CODECS: dict[str, tuple[str, str, dict[str, str]]] = {
    "mp4": ("libx264", "aac", {"crf": "20", "preset": "veryfast", "threads": "2"}),
    "webm": ("libvpx-vp9", "libopus", {"crf": "32", "deadline": "realtime", "cpu-used": "8", "threads": "2"}),
}
_BITS_A_SECOND = {"aac": 160_000, "libopus": 128_000}
_KEY_EACH_S = 1
# Or else a WebM is given a number drawn at random.
_SAME_BYTES = {"fflags": "+bitexact"}

_MISSING = 'PyAV is not installed, which writes movies; install it with: pip install "av>=16,<19"'


@dataclass(frozen=True, slots=True)
class Movie:
    """What a movie is made of.

    Attributes:
        size: width and height in points, both even.
        rate: frames a second.
        pictures: in order, each of that size.
        sound: samples at 48 kHz, of (samples, 2).
    """

    size: tuple[int, int]
    rate: Fraction
    pictures: Iterable[Image]
    sound: Samples


def check_installed() -> None:
    """Check that the library for movies is there.

    Raises:
        InputError: if PyAV is not installed.
    """
    try:
        import av  # noqa: F401
    except ImportError:
        raise InputError.one("", "lipsync preview", _MISSING) from None


def movie_bytes(movie: Movie, form: Form, done: Callable[[int], None] = lambda _frame: None) -> bytes:
    """Return a movie as a file's bytes; `done` is told of each frame.

    Raises:
        InputError: if PyAV is not installed.
    """
    check_installed()
    import av

    picture_codec, sound_codec, options = _CODECS[form]
    content = io.BytesIO()
    library: Any = av  # whose types know less than they could
    with library.open(content, "w", format=form, options=_SAME_BYTES) as file:
        video = file.add_stream(picture_codec, rate=movie.rate, options=options)
        video.width, video.height = movie.size
        video.pix_fmt = "yuv420p"
        video.codec_context.time_base = 1 / movie.rate
        video.time_base = 1 / movie.rate
        video.codec_context.gop_size = max(1, round(movie.rate * _KEY_EACH_S))
        audio = file.add_stream(sound_codec, rate=RATE_HZ, layout="stereo")
        audio.codec_context.bit_rate = _BITS_A_SECOND[sound_codec]
        sound = _sound_frames(library, movie.sound)
        heard, reached = next(sound, None), Fraction(0)
        for index, picture in enumerate(movie.pictures):
            frame = library.VideoFrame.from_image(picture)
            frame.pts, frame.time_base = index, 1 / movie.rate
            file.mux(video.encode(frame))
            # Sound as far as the picture has got, and a second ahead.
            while heard is not None and reached <= index / movie.rate + 1:
                file.mux(audio.encode(heard))
                reached = Fraction(heard.pts + heard.samples, RATE_HZ)
                heard = next(sound, None)
            done(index)
        file.mux(video.encode(None))
        while heard is not None:
            file.mux(audio.encode(heard))
            heard = next(sound, None)
        file.mux(audio.encode(None))
    return content.getvalue()


def _sound_frames(library: Any, sound: Samples) -> Iterator[Any]:
    """Yield the sound in stretches of a twentieth of a second, each with its place."""
    step = RATE_HZ // 20
    for at in range(0, len(sound), step):
        planes = np.ascontiguousarray(sound[at : at + step].T)
        frame = library.AudioFrame.from_ndarray(planes, format="fltp", layout="stereo")
        frame.sample_rate, frame.pts, frame.time_base = RATE_HZ, at, Fraction(1, RATE_HZ)
        yield frame
