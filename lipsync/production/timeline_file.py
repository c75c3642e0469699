"""A timeline of OpenTimelineIO, read and written; the only file that knows its library, which is an optional extra.

In: a path. Out: a `Listing` of its clips and markers, with every fault and its track and clip. Frames are counted
from the timeline's `global_start_time`. A time at another rate than the production's is a fault, except in samples of
sound: these are converted to frames. Tracks (given.py) are written as the text of such a file.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any
from urllib.parse import quote, unquote, urlsplit

from lipsync.errors import InputError, Problem
from lipsync.message import Message, Where
from lipsync.production.given import TimelineClip, TimelineTrack
from lipsync.production.listed import EditEvent, Listing

MISSING = "needs OpenTimelineIO, which is not installed; add it with: pip install 'opentimelineio>=0.18,<0.19'"
_SAMPLES_FROM = 8_000  # Hz; a rate from here on counts samples (chosen: no lower rate of sound is in use)
_NEAR = 0.002  # frames a second; 23.976 is often written for 24000/1001


class _OtherRateError(Exception):
    """A time is counted at another rate."""


def library(path: Path) -> Any:
    """Return the library of timelines; `path` is the file that needs it, for a fault.

    Raises:
        InputError: if it is not installed.
    """
    try:
        import opentimelineio
    except ImportError:
        raise InputError.one(path, "", MISSING) from None
    return opentimelineio


def read_timeline(path: Path, rate: Fraction) -> Listing:
    """Return the clips and markers of a timeline, at the production's rate.

    Raises:
        InputError: if it cannot be read, or the library is not installed.
    """
    otio = library(path)
    try:
        timeline = otio.adapters.read_from_file(str(path), adapter_name="otio_json")
    except Exception:  # the library raises many kinds on a broken file
        raise InputError.one(path, "", "is no timeline of OpenTimelineIO; export it again as .otio") from None
    if isinstance(timeline, otio.schema.SerializableCollection):
        found = [one for one in timeline if isinstance(one, otio.schema.Timeline)]
        timeline = found[0] if len(found) == 1 else None
    if not isinstance(timeline, otio.schema.Timeline):
        raise InputError.one(path, "", "holds no timeline, or several; export one timeline as .otio")
    return _TimelineReading(otio, str(path), rate).listing(timeline)


class _TimelineReading:
    def __init__(self, otio: Any, file: str, rate: Fraction) -> None:
        self._otio, self._file, self._rate = otio, file, rate
        self._events: list[EditEvent] = []
        self._problems: list[Problem] = []
        self._messages: list[Message] = []

    def listing(self, timeline: Any) -> Listing:
        start = timeline.global_start_time
        try:
            first = 0 if start is None else self._frames(start)
        except _OtherRateError as error:
            self._problems.append(Problem(self._file, "global_start_time", str(error)))
            first = 0
        self._markers(timeline.tracks, first)
        for number, track in enumerate(timeline.tracks, start=1):
            name = f"track {number}" + (f" {track.name!r}" if track.name else "")
            if isinstance(track, self._otio.schema.Track):
                self._track(track, name, first)
            else:
                self._nested(name)
        if not self._events and not self._problems:
            self._problems.append(Problem(self._file, "", "has no clip; export the timeline with its tracks"))
        return Listing(
            "edit",
            self._file,
            events=tuple(self._events),
            problems=tuple(self._problems),
            messages=tuple(self._messages),
        )

    def _track(self, track: Any, name: str, first: int) -> None:
        at = first
        if track.source_range is not None:
            at -= self._frames_or_none(track.source_range.start_time, name) or 0
        self._markers(track, at)
        clip = 0
        for child in track:
            if isinstance(child, self._otio.schema.Transition):
                continue
            clip += not isinstance(child, self._otio.schema.Gap)
            place = f"{name} clip {clip}" + (f" {child.name!r}" if child.name else "")
            frames = self._frames_or_none(child.duration(), place)
            if frames is None:
                return  # where the clips after it lie is not known
            if isinstance(child, self._otio.schema.Clip):
                if child.enabled:
                    self._clip(track, child, place, (at, at + frames))
                else:
                    self._messages.append(Message.of("clip switched off", Where(self._file, place)))
                self._markers(child, at - (self._frames_or_none(child.trimmed_range().start_time, place) or 0))
            elif not isinstance(child, self._otio.schema.Gap):
                self._nested(place)
            at += frames

    def _clip(self, track: Any, clip: Any, place: str, record: tuple[int, int]) -> None:
        heard = track.kind == self._otio.schema.TrackKind.Audio
        if heard and (told := self._speed(clip)):
            text = f"{told}; a line is heard as it was recorded: undo that, or mix the sound down anew"
            self._problems.append(Problem(self._file, place, text))
            return
        first = self._frames_or_none(clip.trimmed_range().start_time, place)
        if first is None:
            return
        source = (first, first + record[1] - record[0])
        names = tuple(dict.fromkeys(self._names(clip)))
        self._events.append(EditEvent(self._file, place, "sound" if heard else "picture", names, record, source))

    def _speed(self, clip: Any) -> str:
        for effect in clip.effects:
            scalar = getattr(effect, "time_scalar", None)
            if scalar is not None and scalar != 1:
                return "runs backwards" if scalar < 0 else f"runs at {scalar:g} times its speed"
            if isinstance(effect, self._otio.schema.TimeEffect) and scalar is None:
                return "has its time changed"
        return ""

    def _names(self, clip: Any) -> Iterator[str]:
        media = clip.media_reference
        url = getattr(media, "target_url", "") or ""
        if url:
            yield unquote(urlsplit(url).path if "://" in url else url)
        yield from (str(name) for name in (clip.name, getattr(media, "name", "")) if name)
        metadata = clip.metadata.get("cmx_3600", {})
        if isinstance(metadata.get("reel"), str):
            yield metadata["reel"]

    def _markers(self, item: Any, first: int) -> None:
        for marker in item.markers:
            frame = self._frames_or_none(marker.marked_range.start_time, f"marker {marker.name!r}")
            if frame is not None and marker.name:
                at = first + frame
                self._events.append(
                    EditEvent(self._file, f"marker {marker.name!r}", "marker", (marker.name,), (at, at))
                )

    def _nested(self, place: str) -> None:
        text = "is a sequence within the sequence; take it apart into its clips, and export the timeline again"
        self._problems.append(Problem(self._file, place, text))

    def _frames_or_none(self, time: Any, place: str) -> int | None:
        """Return a time in frames; None, and a problem, if it is counted at another rate."""
        try:
            return self._frames(time)
        except _OtherRateError as error:
            self._problems.append(Problem(self._file, place, str(error)))
            return None

    def _frames(self, time: Any) -> int:
        frames: int = round(time.value)
        if abs(time.rate - float(self._rate)) <= _NEAR:
            return frames
        if time.rate >= _SAMPLES_FROM:
            return round(Fraction(time.value) / Fraction(time.rate) * self._rate)
        raise _OtherRateError(
            f"is counted at {time.rate:g} frames a second, and the production at {self._rate}; export it at that rate"
        )


def timeline_text(path: Path, name: str, rate: Fraction, tracks: Sequence[TimelineTrack]) -> str:
    """Return the text of a timeline file with these tracks; `path` is where it will be written, for a fault.

    Raises:
        InputError: if the library is not installed.
    """
    otio = library(path)
    made = otio.schema.Timeline(name)
    first = min((clip.record[0] for track in tracks for clip in track.clips), default=0)
    made.global_start_time = otio.opentime.RationalTime(first, float(rate))
    for track in tracks:
        kind = otio.schema.TrackKind.Audio if track.heard else otio.schema.TrackKind.Video
        row = otio.schema.Track(track.name, kind=kind)
        at = first
        for clip in track.clips:
            if clip.record[0] > at:
                row.append(otio.schema.Gap(source_range=_span(otio, 0, clip.record[0] - at, rate)))
            row.append(_clip_of(otio, clip, rate))
            at = clip.record[1]
        made.tracks.append(row)
    return f"{otio.adapters.write_to_string(made, 'otio_json')}\n"


def _clip_of(otio: Any, clip: TimelineClip, rate: Fraction) -> Any:
    frames = clip.record[1] - clip.record[0]
    media = otio.schema.ExternalReference(quote(clip.url)) if clip.url else otio.schema.MissingReference()
    made = otio.schema.Clip(clip.name, media, _span(otio, clip.source_first, frames, rate))
    for first, marked_frames, text in clip.marks:
        made.markers.append(otio.schema.Marker(text, _span(otio, first, marked_frames, rate)))
    return made


def _span(otio: Any, first: int, frames: int, rate: Fraction) -> Any:
    time = otio.opentime.RationalTime
    return otio.opentime.TimeRange(time(first, float(rate)), time(frames, float(rate)))
