"""From a production's lines to their breakdowns: those that are kept and hold are read, others are listened to.

In: a production, and which of its lines to hear. Out: `Heard` (heard.py). What a person corrected stays. It is also
kept that a line could not be done: it is listened to again only when its recording, its text or a setting changes.
Workers listen (workers.py, line_hearing.py); only this process writes, each line as soon as it is done. Messages are
in the order of the lines.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from lipsync.align.settings import VoiceProfile
from lipsync.app.hear import heard
from lipsync.app.hear.heard import Heard, HeardLine, Only, PlacedLine, ToMeasure, kept_path, lines_of
from lipsync.app.hear.line_hearing import (
    HeardSound,
    LineFound,
    LineTask,
    code_of,
    hear_line,
    merged,
    read_or_none,
    sound_of,
    task_of,
    text_faults,
)
from lipsync.app.hear.line_settings import recording_of, settings_of, source_of, tokens_or_none
from lipsync.app.hear.voices import VoiceFound, Voices, VoiceTask
from lipsync.app.index.production_index import ProductionIndex
from lipsync.app.work.in_hand import InHand
from lipsync.app.work.sparing import spared
from lipsync.app.work.workers import Workers
from lipsync.breakdown import breakdown_file
from lipsync.breakdown.breakdown_file import Kept
from lipsync.errors import LineError, Problem
from lipsync.file_lock import alone
from lipsync.files import write_whole
from lipsync.folders import is_there
from lipsync.message import Message, Where
from lipsync.model import Rejection
from lipsync.production.values import Production
from lipsync.report import Progress, Report, no_progress
from lipsync.seen import seen
from lipsync.text.script import CueToken

# Seconds to listen to a line, and to read a kept one, roughly (measured on one core).
_LISTENING_S, _READING_S = 0.4, 0.03

# What became of a line: the line and its messages, or why it could not be done.
_Done = tuple[HeardLine | None, tuple[Problem, ...], tuple[Message, ...]]


def find_voice(task: VoiceTask) -> VoiceFound:
    """Return the voice found from a character's lines; what that takes is loaded only then."""
    from lipsync.app.hear import voice_finding

    return voice_finding.find_voice(task)


def hear(
    production: Production,
    only: Only | None = None,
    *,
    again: bool = False,
    to_measure: ToMeasure = ToMeasure.ALL,
    progress: Progress = no_progress,
    workers: Workers | None = None,
) -> Heard:
    """Return the breakdowns of the lines meant, listening to those that are not kept or no longer hold.

    Args:
        production: the production.
        only: which lines; all if None.
        again: listen also where nothing changed.
        to_measure: what else is to be found of each line's sound; sheets need all.
        progress: told of each line done.
        workers: the workers that listen; this process if None.

    Raises:
        InputError: if there is no such scene or shot, or for faults in `voices.toml`, which concern every line.
        OutputError: if a breakdown cannot be written.
    """
    lines = lines_of(production, only or Only())
    whole = (only or Only()) == Only()
    report = Report(messages=tuple(heard.of_production(production)) if whole else ())
    found: dict[int, _Done] = {}
    progress("listening", 0, len(lines))
    with ProductionIndex(production.folder) as index:
        listening = Listening(production, workers, index)
        for place, done in listening.lines(lines, again=again, to_measure=to_measure):
            found[place] = done
            progress("listening", len(found), len(lines))
    for place in range(len(lines)):
        report += Report(*found[place][1:])
    return Heard(tuple(line for _, (line, _, _) in sorted(found.items()) if line is not None), report)


class Listening:
    """Listens to lines of a production."""

    def __init__(
        self, production: Production, workers: Workers | None = None, index: ProductionIndex | None = None
    ) -> None:
        """Read what is known of the production's voices; `index` is that of the production, if there is one.

        Raises:
            InputError: for faults in `voices.toml`, which concern every line.
        """
        self._production = production
        self._workers = workers or Workers()
        self.voices = Voices(production, find_voice, self._workers, index)
        self.voices.read()

    def line(self, placed: PlacedLine, *, again: bool) -> tuple[HeardLine, tuple[Message, ...]]:
        """Return a line with its breakdown, listening to it if necessary, and its messages.

        Raises:
            ProblemsError: if it cannot be done; if its sound can be read, what is known of it is kept even then.
            OutputError: if its breakdown cannot be written.
        """
        voice = self.voices.of(placed.line.character) if self._needs_voice(placed, again=again) else None
        task = self._task(placed, again=again, voice=voice)
        line, problems, messages = self._written(placed, task, hear_line(task))
        if line is None:
            raise LineError(problems)
        return line, messages

    def as_kept(self, placed: PlacedLine) -> tuple[HeardLine, tuple[Message, ...]] | None:
        """Return a line as it is kept, and its messages; None if it would have to be listened to.

        Raises:
            ProblemsError: if it cannot be done.
        """
        line, known, profile = placed.line, True, None
        if line.voice_factor is None and tokens_or_none(line.text):
            known, profile = self.voices.standing(line.character)
        task = replace(self._task(placed, again=False, voice=profile), as_kept=True)
        found = hear_line(task)
        if found.kept is None and not found.problems:
            return None
        if found.kept is not None and not known and not found.kept.by_hand:
            return None
        heard_line, problems, messages = self._written(placed, task, found)
        if heard_line is None:
            raise LineError(problems)
        return heard_line, messages

    def lines(
        self, lines: Sequence[PlacedLine], *, again: bool, to_measure: ToMeasure = ToMeasure.ALL
    ) -> Iterator[tuple[int, _Done]]:
        """Yield the index of each line and what became of it, as soon as it is done and written.

        Raises:
            OutputError: if a breakdown cannot be written.
        """
        needing = [self._needs_voice(placed, again=again) for placed in lines]
        self.voices.find_all(one.line.character for one, needs in zip(lines, needing, strict=True) if needs)
        voices = [self.voices.of(one.line.character) if n else None for one, n in zip(lines, needing, strict=True)]
        tasks = [
            replace(self._task(one, again=again, voice=voice), to_measure=to_measure)
            for one, voice in zip(lines, voices, strict=True)
        ]
        with InHand(self._production.folder) as in_hand:
            taken: list[int] = []
            left: list[int] = []
            for place, done in self._heard(tasks, self._free(tasks, in_hand, taken, left), taken):
                in_hand.let_go(_name(tasks[place]))
                yield place, done
            # By now none of another run's that waits for one of these: all of them are written.
            taken = []
            yield from self._heard(tasks, self._once_let_go(tasks, in_hand, left, taken), taken)

    def _free(
        self, tasks: Sequence[LineTask], in_hand: InHand, taken: list[int], left: list[int]
    ) -> Iterator[LineTask]:
        """Take and yield the tasks that no other run has in hand; `left` are those that one has."""
        for place, task in enumerate(tasks):
            if in_hand.take(_name(task)):
                taken.append(place)
                yield task
                continue
            if not left:
                self._workers.tell(Message.of("another run", Where(str(self._production.folder))))
            left.append(place)

    def _once_let_go(
        self, tasks: Sequence[LineTask], in_hand: InHand, left: Sequence[int], taken: list[int]
    ) -> Iterator[LineTask]:
        """Yield what another run had in hand as soon as it has let go of it."""
        for place in left:
            in_hand.wait(_name(tasks[place]), lambda: self._workers.running(()))
            taken.append(place)
            yield tasks[place]

    def _heard(
        self, tasks: Sequence[LineTask], sent: Iterator[LineTask], places: Sequence[int]
    ) -> Iterator[tuple[int, _Done]]:
        """Yield the place of each line sent and what became of it; `places` grows with what is sent."""
        reading = (not one.again and is_there(kept_path(self._production, one.placed)) for one in tasks)
        worth_s = sum(_READING_S if known else _LISTENING_S for known in reading)
        for number, outcome in self._workers.each(hear_line, sent, worth_s):
            task, problems = tasks[places[number]], list[Problem]()
            done: _Done = None, (), ()
            with spared(problems, task.placed.where):
                if outcome.found is None:
                    raise LineError([Problem.of("worker died", task.placed.where)])
                done = self._written(task.placed, task, outcome.found)
            yield places[number], (done[0], (*done[1], *problems), done[2])

    def _task(self, placed: PlacedLine, *, again: bool, voice: VoiceProfile | None) -> LineTask:
        return task_of(self._production, placed, settings_of(self._production, placed.line, voice), again=again)

    def _needs_voice(self, placed: PlacedLine, *, again: bool) -> bool:
        """Whether a line may be listened to with its character's voice: not if a person has placed all words."""
        line = placed.line
        if line.voice_factor is not None or not tokens_or_none(line.text):
            return False
        path = kept_path(self._production, placed)
        if again or self.voices.is_known(line.character) or not is_there(path):
            return True
        try:
            kept = breakdown_file.read(path)
            return not (kept.by_hand and kept.source.alike(source_of(placed, recording_of(self._production, placed))))
        except Exception:  # it is raised again, and told, when the line itself is done
            return False

    def _written(self, placed: PlacedLine, task: LineTask, found: LineFound) -> _Done:
        """Write what there is to keep of a line, and return the line with its messages, or its problems."""
        if found.kept is None:
            return None, found.problems, ()
        if found.computed is not None:
            found = self._kept(placed, task, found)
        kept = found.kept
        assert kept is not None
        check_usable(self._production, placed, kept)
        if found.problems or found.sound is None:
            return None, found.problems, ()
        begins_us = self._production.begins_us(placed.line, placed.shot)
        line = HeardLine(
            placed, kept, begins_us, found.sound.levels_db, found.sound.pitches_hz, found.inputs, found.read
        )
        return line, (), (*found.messages, *messages_of(self._production, placed, kept))

    def _kept(self, placed: PlacedLine, task: LineTask, found: LineFound) -> LineFound:
        """Write the file of a line that was computed; changes that were made to the file meanwhile are kept."""
        assert found.computed is not None
        assert found.source is not None
        path = kept_path(self._production, placed)
        with alone(path):
            content = read_or_none(path)
            old = None if content is None else breakdown_file.read_bytes(content, str(path))
            if code_of(content) != found.read:
                new, messages = merged(task, old, found.source, found.computed)
                sound: HeardSound | None = None
                if not new.undone:
                    recording = recording_of(self._production, placed)
                    sound = sound_of(self._production, placed, recording, new, task.to_measure)
                found = replace(found, kept=new, messages=messages, sound=sound)
            written = content
            if found.kept is not None and found.kept != old:
                written = breakdown_file.text_of(found.kept).encode()
                write_whole(path, written)
            inputs = (*found.inputs[:1], *seen(path))
        return replace(found, read=code_of(written), inputs=inputs)


def _name(task: LineTask) -> str:
    """Return what a line is called while it is in hand."""
    return f"line {task.placed.key}"


def messages_of(production: Production, placed: PlacedLine, kept: Kept) -> Iterator[Message]:
    """Yield the messages about a line as it is kept."""
    where = placed.where_in(kept_path(production, placed))
    if kept.newer is not None:
        yield Message.of("newer waits", where, production=production.folder, line=placed.key)
    for text in kept.disagreements:
        yield Message.of("disagreement", where, text=text)
    yield from heard.of_line(placed, kept)


def check_usable(production: Production, placed: PlacedLine, kept: Kept) -> None:
    """Check that a line's breakdown can go on a sheet.

    Raises:
        LineError: if it has no word laid, or the character's mouth set has no shape for one of its cues.
    """
    if kept.undone:
        raise LineError(why_doubtful(production, placed, kept))
    said = () if kept.by_hand else tokens_or_none(placed.line.text)
    in_text = {token.name: placed.where for token in said if isinstance(token, CueToken)}
    path = kept_path(production, placed)
    in_parts = {one.name: replace(placed.where_in(path), place=f"cue {one.name!r}") for one in kept.breakdown.cues}
    known = production.mouth_sets[placed.line.character].cues
    found = {**in_parts, **{name: replace(where, place=f"{where.place} text") for name, where in in_text.items()}}
    problems = [
        Problem.of("no such cue", where, cue=name, known=", ".join(known))
        for name, where in found.items()
        if name not in known
    ]
    if problems:
        raise LineError(problems)


def why_doubtful(production: Production, placed: PlacedLine, kept: Kept) -> tuple[Problem, ...]:
    """Return why nothing of a line is laid, or all of it is doubtful; empty if sound and text match."""
    rejection = kept.breakdown.rejection
    if rejection is None:
        return ()
    unread = text_faults(placed, settings_of(production, placed.line)) if rejection is Rejection.NOT_READ else ()
    return unread or (Problem.of(f"rejection: {rejection}", placed.where),)
