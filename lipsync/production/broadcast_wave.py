"""What a broadcast wave file says of itself: its time stamp, its length, its scene and take.

In: the path of a WAV, RF64 or BW64 file. Out: `WaveFacts`, None for any other file; only chunk headers and metadata
are read, never the sound. Sources: RIFF WAVE and the chunk `bext` as EBU Tech 3285 (v2, 2011) has them:
TimeReference, low word first, is 64 bits of samples since midnight, 338 bytes into the chunk; sizes above 4 GiB in
the chunk `ds64` of RF64, EBU Tech 3306 (2009), and of BW64, Recommendation ITU-R BS.2088. The chunk `iXML` holds XML
whose root is BWFXML, with SCENE and TAKE, as its open specification has it (from memory).
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import BinaryIO
from xml.etree import ElementTree

from lipsync import timing

_TIME_REFERENCE = struct.Struct("<II")
_TIME_REFERENCE_AT = 338
_FORMAT = struct.Struct("<HHIIHH")
_DS64 = struct.Struct("<QQQI")
_DS64_ROW = struct.Struct("<4sQ")
_IN_DS64 = 0xFFFFFFFF

# Bytes; no metadata chunk read here is longer (chosen), and a longer one is passed over.
_LONGEST_CHUNK = 1 << 20


@dataclass(frozen=True, slots=True)
class WaveFacts:
    """What a file says of itself.

    Attributes:
        rate_hz: samples a second.
        samples: count of samples in each channel.
        time_reference: count of samples from midnight to its first one; None if it has no time stamp.
        scene: as iXML has it; empty if it has none.
        take: likewise.
    """

    rate_hz: int
    samples: int
    time_reference: int | None = None
    scene: str = ""
    take: str = ""

    @property
    def stamp_us(self) -> int | None:
        """When it begins, in microseconds from midnight; None if it has no time stamp."""
        return None if self.time_reference is None else timing.us_of_sample(self.time_reference, self.rate_hz)

    @property
    def duration_us(self) -> int:
        """How long it lasts, in microseconds."""
        return timing.us_of_sample(self.samples, self.rate_hz)

    def stamp_frame(self, rate: Fraction) -> int | None:
        """Return the frame, from midnight, whose start is nearest to its beginning; None without a time stamp."""
        return None if self.stamp_us is None else timing.nearest_frame(self.stamp_us, rate)


def wave_facts(path: Path) -> WaveFacts | None:
    """Return what a file says of itself; None if it is no wave file, is broken, or cannot be read."""
    try:
        with path.open("rb") as file:
            return _facts(file)
    except (OSError, struct.error, ValueError):
        return None


def _facts(file: BinaryIO) -> WaveFacts | None:
    kind, _, form = struct.unpack("<4sI4s", file.read(12))
    if kind not in (b"RIFF", b"RF64", b"BW64") or form != b"WAVE":
        return None
    found: dict[bytes, bytes] = {}
    sound_bytes = 0
    for name, size in _chunks(file):
        if name == b"data":
            sound_bytes = size
        elif name in (b"fmt ", b"bext", b"iXML") and size <= _LONGEST_CHUNK:
            found.setdefault(name, file.read(size))
    if b"fmt " not in found:
        return None
    _, _, rate_hz, _, align, _ = _FORMAT.unpack_from(found[b"fmt "])
    if not rate_hz or not align:
        return None
    stamp = None
    if len(found.get(b"bext", b"")) >= _TIME_REFERENCE_AT + _TIME_REFERENCE.size:
        low, high = _TIME_REFERENCE.unpack_from(found[b"bext"], _TIME_REFERENCE_AT)
        stamp = (high << 32) + low
    scene, take = _scene_and_take(found.get(b"iXML", b""))
    return WaveFacts(rate_hz, sound_bytes // align, stamp, scene, take)


def _chunks(file: BinaryIO) -> Iterator[tuple[bytes, int]]:
    """Yield each chunk's name and size, with the file at its first byte."""
    large_sizes: dict[bytes, int] = {}
    there = file.tell()
    end = file.seek(0, 2)
    while there + 8 <= end:
        file.seek(there)
        name, size = struct.unpack("<4sI", file.read(8))
        if name == b"ds64" and size <= _LONGEST_CHUNK:
            large_sizes = _large_sizes(file.read(size))
        elif size == _IN_DS64:
            size = large_sizes.get(name, size)
        inside = there + 8
        file.seek(inside)
        yield name, min(size, end - inside)
        there = inside + size + size % 2


def _large_sizes(chunk: bytes) -> dict[bytes, int]:
    """Return the sizes of chunks, by name, that the chunk `ds64` gives."""
    _, sound_bytes, _, rows = _DS64.unpack_from(chunk)
    sizes = {b"data": sound_bytes}
    for row in range(min(rows, (len(chunk) - _DS64.size) // _DS64_ROW.size)):
        name, size = _DS64_ROW.unpack_from(chunk, _DS64.size + row * _DS64_ROW.size)
        sizes[name] = size
    return sizes


def _scene_and_take(chunk: bytes) -> tuple[str, str]:
    text = chunk.rstrip(b"\0 \r\n")
    if not text or b"<!" in text.replace(b"<!--", b""):  # refuse entity declarations: they can expand without limit
        return "", ""
    try:
        root = ElementTree.fromstring(text)
    except (ElementTree.ParseError, ValueError, LookupError):
        return "", ""
    return (root.findtext("SCENE") or "").strip(), (root.findtext("TAKE") or "").strip()
