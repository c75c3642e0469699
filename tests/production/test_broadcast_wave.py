"""Headings of broadcast wave files: made by hand as EBU Tech 3285 and 3306 and ITU-R BS.2088 have them, and read by
the library `wavinfo` as well."""

import struct
from fractions import Fraction
from pathlib import Path

import pytest
from production.waves import bext, chunk, made

from lipsync.production.broadcast_wave import wave_facts

# The last, 22 h at 96 kHz, is 7,603,200,005 samples: more than 32 bits hold
CASES = [(0, 48_000), (48_000 * 3600, 48_000), (96_000 * 22 * 3600 + 5, 96_000)]
IXML = b"<?xml version='1.0' encoding='UTF-8'?><BWFXML><SCENE>01-lamp-room</SCENE><TAKE>3</TAKE></BWFXML>"


@pytest.mark.parametrize(("kind", "long"), [(b"RIFF", False), (b"RF64", True), (b"BW64", True)])
@pytest.mark.parametrize(("stamp", "rate_hz"), CASES)
def test_time_stamp_and_length(kind: bytes, long: bool, stamp: int, rate_hz: int, tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    path.write_bytes(made(480, bext(stamp), chunk(b"iXML", IXML), rate_hz=rate_hz, kind=kind, long=long))
    facts = wave_facts(path)
    assert facts is not None
    assert (facts.time_reference, facts.samples, facts.rate_hz) == (stamp, 480, rate_hz)
    assert (facts.scene, facts.take) == ("01-lamp-room", "3")


@pytest.mark.parametrize(("stamp", "rate_hz"), CASES)
def test_another_library_reads_the_same(stamp: int, rate_hz: int, tmp_path: Path) -> None:
    wavinfo = pytest.importorskip("wavinfo")
    path = tmp_path / "a.wav"
    path.write_bytes(made(480, bext(stamp), chunk(b"iXML", IXML), rate_hz=rate_hz))
    theirs, ours = wavinfo.WavInfoReader(str(path)), wave_facts(path)
    assert ours is not None
    assert (theirs.bext.time_reference, theirs.fmt.sample_rate, theirs.data.frame_count) == (
        ours.time_reference,
        ours.rate_hz,
        ours.samples,
    )


def test_a_time_stamp_is_a_frame() -> None:
    """At 24000/1001, 01:00:00:00 is frame 86,400, which is 3,603.6 s: 172,972,800 samples at 48 kHz."""
    from lipsync.production.broadcast_wave import WaveFacts

    facts = WaveFacts(48_000, 48_000, 172_972_800)
    assert facts.stamp_frame(Fraction(24000, 1001)) == 86_400
    assert facts.stamp_us == 3_603_600_000


def test_a_file_without_a_stamp_has_none(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    path.write_bytes(made(10))
    facts = wave_facts(path)
    assert facts is not None
    assert facts.time_reference is None
    assert facts.stamp_frame(Fraction(24)) is None


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"RIFF",
        b"RIFF\0\0\0\0WAVE",
        b"OggS" + b"\0" * 100,
        made(4)[:40],
        b"RIFF\xff\xff\xff\xffWAVEbext\xff\xff\xff\xff",
        b"RIFF\0\0\0\0WAVE" + chunk(b"fmt ", struct.pack("<HHIIHH", 1, 1, 0, 0, 0, 16)),
        b"RF64\xff\xff\xff\xffWAVE" + chunk(b"ds64", b"\0"),
    ],
)
def test_a_broken_file_says_nothing(content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    path.write_bytes(content)
    facts = wave_facts(path)
    assert facts is None or facts.time_reference is None


@pytest.mark.parametrize(
    "xml", [b"<BWFXML><SCENE>", b'<!DOCTYPE a [<!ENTITY b "c">]><BWFXML><SCENE>&b;</SCENE></BWFXML>', b"\xff\xfe"]
)
def test_a_broken_ixml_says_nothing(xml: bytes, tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    path.write_bytes(made(10, chunk(b"iXML", xml)))
    facts = wave_facts(path)
    assert facts is not None
    assert facts.scene == ""
