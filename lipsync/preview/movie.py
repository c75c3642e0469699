"""Writes pictures and sound into one file. The only file that knows PyAV.

In: pictures in order, an exact rate, samples at 48 kHz. Out: the bytes of an MP4 (H.264 and AAC) or a WebM (VP9 and
Opus). MP4 counts time in units of the rate, so no frame's time is rounded. WebM counts whole milliseconds (RFC 9559),
so a frame is shown up to half a millisecond early or late; the error does not add up. Sound is written a second ahead
of the picture, so that a player can start anywhere in the file.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from lipsync.errors import InputError
from lipsync.message import Where
from lipsync.preview.mixing import RATE_HZ, Samples

if TYPE_CHECKING:
    from PIL.Image import Image

Form = Literal["mp4", "webm"]

# Form -> codec of the picture, codec of the sound, options of the picture's: chosen, so that lips can be judged and
# encoding is quick.
_CODECS: dict[str, tuple[str, str, dict[str, str]]] = {
    "mp4": ("libx264", "aac", {"crf": "20", "preset": "veryfast", "threads": "2"}),
    "webm": ("libvpx-vp9", "libopus", {"crf": "32", "deadline": "realtime", "cpu-used": "8", "threads": "2"}),
}
_BITS_A_SECOND = {"aac": 160_000, "libopus": 128_000}
_KEY_FRAME_EVERY_S = 1
_SOUND_BLOCKS_A_SECOND = 20
# Otherwise the library puts a random number into each WebM.
_SAME_BYTES = {"fflags": "+bitexact"}


@dataclass(frozen=True, slots=True)
class Movie:
    """What a movie is made of.

    Attributes:
        size: width and height in pixels, both even.
        rate: frames a second.
        pictures: in order, each of that size.
        sound: samples at 48 kHz, samples x 2 channels.
    """

    size: tuple[int, int]
    rate: Fraction
    pictures: Iterable[Image]
    sound: Samples


def check_installed() -> None:
    """Check that the library for movies is installed.

    Raises:
        InputError: if PyAV is not installed.
    """
    try:
        import av  # noqa: F401
    except ImportError:
        raise InputError.of("no movie library", Where(place="lipsync preview")) from None


def movie_bytes(movie: Movie, form: Form, done: Callable[[int], None] = lambda _frame: None) -> bytes:
    """Return the bytes of a movie file; `done` is called with the index of each frame when it is encoded.

    Raises:
        InputError: if PyAV is not installed.
    """
    check_installed()
    import av

    picture_codec, sound_codec, options = _CODECS[form]
    content = io.BytesIO()
    library: Any = av  # whose type annotations are incomplete
    with library.open(content, "w", format=form, options=_SAME_BYTES) as file:
        video = file.add_stream(picture_codec, rate=movie.rate, options=options)
        video.width, video.height = movie.size
        video.pix_fmt = "yuv420p"
        video.codec_context.time_base = 1 / movie.rate
        video.time_base = 1 / movie.rate
        video.codec_context.gop_size = max(1, round(movie.rate * _KEY_FRAME_EVERY_S))
        audio = file.add_stream(sound_codec, rate=RATE_HZ, layout="stereo")
        audio.codec_context.bit_rate = _BITS_A_SECOND[sound_codec]
        sound = _sound_blocks(library, movie.sound)
        heard, reached = next(sound, None), Fraction(0)
        for index, picture in enumerate(movie.pictures):
            frame = library.VideoFrame.from_image(picture)
            frame.pts, frame.time_base = index, 1 / movie.rate
            file.mux(video.encode(frame))
            # Sound up to a second ahead of the picture.
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


def _sound_blocks(library: Any, sound: Samples) -> Iterator[Any]:
    """Yield the sound in blocks as the library takes them, each with its time."""
    step = RATE_HZ // _SOUND_BLOCKS_A_SECOND
    for at in range(0, len(sound), step):
        planes = np.ascontiguousarray(sound[at : at + step].T)
        block = library.AudioFrame.from_ndarray(planes, format="fltp", layout="stereo")
        block.sample_rate, block.pts, block.time_base = RATE_HZ, at, Fraction(1, RATE_HZ)
        yield block
