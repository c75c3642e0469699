"""Edits read: decision lists beside OpenTimelineIO's own adapter on the samples of its source package, timelines as
that library writes them, drop-frame beside the library `timecode` 1.5.1; what cannot be taken is named."""

from fractions import Fraction
from pathlib import Path

import opentimelineio as otio
import pytest
from timecode import Timecode

from lipsync.app.take.taking import TakeOptions, find_taking
from lipsync.production import timeline_file
from lipsync.production.edit_list import read_edit_list
from lipsync.production.listed import Listing
from lipsync.production.sample import put_sample
from lipsync.production.timeline_file import read_timeline
from tests.source_packages import unpacked

FILM = Fraction(24)
# Read by both; of the last two each reader has its own answer, checked below.
SAMPLES = (
    "25fps", "avid_example", "cdl", "dissolve_test", "dissolve_test_2", "dissolve_test_3", "dissolve_test_4",
    "gap_test", "no_spaces_test", "nucoda_example", "premiere_example", "screening_example", "speed_effects",
    "speed_effects_small", "transition_duration", "wipe_test",
)  # fmt: skip


@pytest.fixture(scope="session")
def samples(tmp_path_factory: pytest.TempPathFactory) -> Path:
    sha256 = "a10cca794617795bbc147d784ec33e6381a57eb6157e87d2b74b65b02516b621"
    folder = unpacked("otio-cmx3600-adapter", "1.0.0", sha256, tmp_path_factory.mktemp("adapter"))
    return folder / "tests" / "sample_data"


def rate_of(name: str) -> Fraction:
    return Fraction(25) if name == "25fps" else FILM


def by_adapter(path: Path, rate: Fraction) -> tuple[object, list[tuple[str, int, int, int]]]:
    """Return the timeline that the adapter makes, and kind, source in, record in and out of its clips."""
    timeline = otio.adapters.read_from_file(str(path), rate=float(rate))
    found = []
    for track in timeline.tracks:
        at = -track.source_range.start_time.value if track.source_range else 0
        for child in track:
            if isinstance(child, otio.schema.Transition):
                continue
            frames = child.duration().value
            if isinstance(child, otio.schema.Clip):
                kind = "sound" if track.kind == otio.schema.TrackKind.Audio else "picture"
                found.append((kind, round(child.trimmed_range().start_time.value), round(at), round(at + frames)))
            at += frames
    return timeline, found


def clips(listing: Listing) -> list[tuple[str, int, int, int]]:
    return [(e.kind, e.source[0], *e.record) for e in listing.events if e.kind != "marker" and e.source is not None]


@pytest.mark.parametrize("name", SAMPLES)
def test_events_are_those_of_the_open_adapter(samples: Path, name: str) -> None:
    path = samples / f"{name}.edl"
    _, theirs = by_adapter(path, rate_of(name))
    listing = read_edit_list(path, rate_of(name))
    assert listing.problems == ()
    assert clips(listing) == theirs
    assert theirs


@pytest.mark.parametrize("name", [name for name in SAMPLES if "speed" not in name])
def test_the_same_events_come_by_way_of_a_timeline(samples: Path, name: str, tmp_path: Path) -> None:
    timeline, theirs = by_adapter(samples / f"{name}.edl", rate_of(name))
    otio.adapters.write_to_file(timeline, str(tmp_path / "a.otio"))
    listing = read_timeline(tmp_path / "a.otio", rate_of(name))
    assert listing.problems == ()
    assert clips(listing) == theirs


def test_two_tracks_of_one_sound_are_one_event(samples: Path) -> None:
    path = samples / "multi_audio.edl"
    _, theirs = by_adapter(path, FILM)
    assert clips(read_edit_list(path, FILM)) == theirs[:1]
    assert len(theirs) == 2


def test_every_event_at_another_rate_is_told(samples: Path) -> None:
    path = samples / "timecode_mismatch.edl"
    with pytest.raises(ValueError, match="rate mismatch"):
        by_adapter(path, FILM)
    found = read_edit_list(path, FILM).problems
    assert len(found) > 1
    assert all(one.place.startswith("event ") and "at another rate" in one.text for one in found)


def written(tmp_path: Path, *rows: str) -> Path:
    path = tmp_path / "cut.edl"
    path.write_text("TITLE: LAMP ROOM\n" + "\n".join(rows) + "\n", "utf-8")
    return path


@pytest.mark.parametrize("label", ["00:01:00;02", "00:10:00;00", "01:00:00;00", "00:59:59;29", "10:02:03;04"])
@pytest.mark.parametrize("sign", [";", ":"])
def test_drop_frame_counts_as_another_library_does(label: str, sign: str, tmp_path: Path) -> None:
    """With ";" in the label, or with FCM above events that are written with ":"."""
    frame = Timecode("29.97", label).frames - 1
    end = str(Timecode("29.97", frames=frame + 31))
    here, there = label.replace(";", sign), end.replace(";", sign)
    path = written(tmp_path, "FCM: DROP FRAME", f"001  A  A  C  00:00:00:00 00:00:01:00 {here} {there}")
    listing = read_edit_list(path, Fraction(30000, 1001))
    assert listing.problems == ()
    assert listing.drop
    assert listing.events[0].record == (frame, frame + 30)


def test_labels_of_24000_1001_are_counted_without_dropping(tmp_path: Path) -> None:
    path = written(tmp_path, "001  A  A  C  00:00:00:00 00:00:01:00 01:00:00:00 01:00:01:00")
    assert read_edit_list(path, Fraction(24000, 1001)).events[0].record == (86_400, 86_424)


EVENTS = {
    "speed": (
        ["001  A  A  C  00:00:00:00 00:00:02:00 01:00:00:00 01:00:01:00", "M2   A   048.0   00:00:00:00"], "48 frames"
    ),
    "speed of as many frames": (
        ["001  A  A  C  00:00:00:00 00:00:01:00 01:00:00:00 01:00:01:00", "M2   A   048.0   00:00:00:00"], "48 frames"
    ),
    "backwards": (["001  A  A  C  00:00:01:00 00:00:00:00 01:00:00:00 01:00:01:00"], "backwards"),
    "reversed": (
        ["001  A  A  C  00:00:00:00 00:00:01:00 01:00:00:00 01:00:01:00", "M2   A  -024.0   00:00:00:00"], "backwards"
    ),
    "unlike lengths": (["001  A  A  C  00:00:00:00 00:00:02:00 01:00:00:00 01:00:01:00"], "lasts 48 frames"),
    "record backwards": (["001  V  V  C  00:00:00:00 00:00:02:00 01:00:02:00 01:00:00:00"], "ends before"),
    "no event": (["001  A  A  C  00:00:00:00"], "no event of the CMX 3600 form"),
    "no timecode": (["001  A  A  C  00:00:00:30 00:00:02:00 01:00:02:00 01:00:00:00"], "at another rate"),
}  # fmt: skip


@pytest.mark.parametrize("name", EVENTS)
def test_what_cannot_be_taken_is_named(name: str, tmp_path: Path) -> None:
    rows, says = EVENTS[name]
    (found,) = read_edit_list(written(tmp_path, *rows), FILM).problems
    assert says in found.text
    assert found.place in ("event 001", "line 2")


def test_all_of_them_are_named_in_one_go(tmp_path: Path) -> None:
    rows = [row.replace("001 ", f"{n:03} ") for n, (rows, _) in enumerate(EVENTS.values()) for row in rows]
    assert len(read_edit_list(written(tmp_path, *rows), FILM).problems) == len(EVENTS)


def test_overlapping_clips_stay_both(tmp_path: Path) -> None:
    rows = [f"00{n}  A{n}  A{n}  C  00:00:00:00 00:00:02:00 01:00:0{n}:00 01:00:0{n + 2}:00" for n in (1, 2)]
    listing = read_edit_list(written(tmp_path, *rows), FILM)
    assert [event.record for event in listing.events] == [(86_424, 86_472), (86_448, 86_496)]


def timeline(tmp_path: Path, *children: object, rate: float = 24, kind: str = "Audio") -> Path:
    track = otio.schema.Track("words", kind=kind)
    track.extend(children)
    made = otio.schema.Timeline("cut", global_start_time=otio.opentime.RationalTime(86_400, rate))
    made.tracks.append(track)
    otio.adapters.write_to_file(made, str(tmp_path / "cut.otio"))
    return tmp_path / "cut.otio"


def clip(name: str, first: float, frames: float, rate: float = 24) -> object:
    span = otio.opentime.TimeRange(otio.opentime.RationalTime(first, rate), otio.opentime.RationalTime(frames, rate))
    return otio.schema.Clip(name, otio.schema.ExternalReference(f"file:///sound/{name}%20one.wav"), span)


def test_clips_gaps_and_names_of_a_timeline(tmp_path: Path) -> None:
    gap = otio.schema.Gap(duration=otio.opentime.RationalTime(12, 24))
    listing = read_timeline(timeline(tmp_path, clip("a", 5, 24), gap, clip("b", 0, 10)), FILM)
    assert [(e.names[0], e.record, e.source) for e in listing.events] == [
        ("/sound/a one.wav", (86_400, 86_424), (5, 29)),
        ("/sound/b one.wav", (86_436, 86_446), (0, 10)),
    ]


def test_sound_counted_in_samples_is_turned_into_frames(tmp_path: Path) -> None:
    path = timeline(tmp_path, clip("a", 48_000, 24_000, 48_000), clip("b", 0, 24))
    assert [(e.record, e.source) for e in read_timeline(path, FILM).events] == [
        ((86_400, 86_412), (24, 36)),
        ((86_412, 86_436), (0, 24)),
    ]


def test_what_a_timeline_has_that_cannot_be_taken(tmp_path: Path) -> None:
    fast, back, frozen = clip("fast", 0, 24), clip("back", 0, 24), clip("frozen", 0, 24)
    fast.effects.append(otio.schema.LinearTimeWarp(time_scalar=2.0))
    back.effects.append(otio.schema.LinearTimeWarp(time_scalar=-1.0))
    frozen.effects.append(otio.schema.FreezeFrame())
    nested = otio.schema.Stack("the whole storm", children=[otio.schema.Track(children=[clip("in", 0, 24)])])
    found = read_timeline(timeline(tmp_path, fast, back, frozen, nested, clip("pal", 0, 25, 25)), FILM).problems
    assert [one.place.rpartition(" ")[0] for one in found][:3] == [f"track 1 'words' clip {n}" for n in (1, 2, 3)]
    for one, says in zip(
        found, ("2 times", "backwards", "0 times", "sequence within", "25 frames a second"), strict=True
    ):
        assert says in one.text


def test_the_rate_of_24000_1001_is_known_by_its_decimals(tmp_path: Path) -> None:
    path = timeline(tmp_path, clip("a", 0, 24, 23.976), rate=23.976)
    assert read_timeline(path, Fraction(24000, 1001)).problems == ()
    assert read_timeline(path, FILM).problems != ()


def test_without_the_library_one_sentence_says_what_to_add(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "opentimelineio", None)
    with pytest.raises(timeline_file.InputError, match=r"pip install 'opentimelineio>=0.18,<0.19'"):
        read_timeline(tmp_path / "cut.otio", FILM)


def test_an_edit_of_sounds_alone_moves_lines_and_leaves_shots(tmp_path: Path) -> None:
    """Neither pictures nor markers: what an edit of the dialogue alone holds."""
    folder = tmp_path / "low-tide-post"
    put_sample(folder)
    edit = written(
        tmp_path,
        "001  020-A    A     C        00:00:00:00 00:00:02:00 01:00:09:00 01:00:11:00",
        "* FROM CLIP NAME: 020-a.wav",
    )
    taking = find_taking(folder, [edit], TakeOptions(part=True))
    assert taking.report.problems == ()
    # The shot starts at 01:00:08:00 with frame 1: a second later is frame 25.
    assert ("020-a", "moves", "frame 25") in [(one.line, one.what, one.now) for one in taking.differences]
    assert {one.shot for one in taking.differences} == {"020"}
