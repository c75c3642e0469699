"""Wave files made by hand from the published tables: RIFF WAVE, `bext` (EBU Tech 3285), `ds64` (EBU Tech 3306)."""

import struct


def chunk(name: bytes, content: bytes, size: int | None = None) -> bytes:
    return name + struct.pack("<I", len(content) if size is None else size) + content + b"\0" * (len(content) % 2)


def bext(time_reference: int) -> bytes:
    """Return the chunk: Description 256, Originator 32, its reference 32, date 10, time 8, TimeReference 8 ..."""
    texts = b"a lamp".ljust(256, b"\0") + b"\0" * 32 + b"\0" * 32 + b"2026-11-24" + b"10:00:00"
    low, high = time_reference & 0xFFFFFFFF, time_reference >> 32
    return chunk(b"bext", texts + struct.pack("<IIH", low, high, 2) + b"\0" * (64 + 10 + 180))


def broadcast_wave(wave: bytes, time_reference: int) -> bytes:
    """Return a WAV file with a time stamp before its sound."""
    assert wave[:4] == b"RIFF"
    body = wave[12:]
    content = b"WAVE" + bext(time_reference) + body
    return b"RIFF" + struct.pack("<I", len(content)) + content


def made(samples: int, *chunks: bytes, rate_hz: int = 48_000, kind: bytes = b"RIFF", long: bool = False) -> bytes:
    """Return a mono file of 16 bits; with `long` its sizes stand in `ds64` alone."""
    fmt = chunk(b"fmt ", struct.pack("<HHIIHH", 1, 1, rate_hz, rate_hz * 2, 2, 16))
    sound = b"\0\0" * samples
    parts = [fmt, *chunks, chunk(b"data", sound, 0xFFFFFFFF if long else None)]
    if long:
        ds64 = chunk(b"ds64", struct.pack("<QQQI", 0, len(sound), samples, 0))
        parts.insert(0, ds64)
    content = b"WAVE" + b"".join(parts)
    return kind + struct.pack("<I", 0xFFFFFFFF if long else len(content)) + content
