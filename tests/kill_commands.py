"""Kills each command that writes, before every call that changes a file and at random moments; looks what is left.

    python tests/kill_commands.py FOLDER [RANDOM]

FOLDER is a production that has been heard (`lipsync demo` leaves one); it is copied. RANDOM is how many random
moments are tried in all, 1,000 if not given. After each kill every file must be as it was or as it becomes, records
must be read, and the next run, undisturbed, must end with the bytes of a run that nobody disturbed, and leave no
remains.
test_kill_commands.py does some of it.

Calls are counted by Python's own audit events (PEP 578), which come before the call: opening for writing, renaming,
removing, making folders, changing permissions; and forcing to the disk, before which half of the file is cut off, as
if the kill had come while it was being written.
"""

from __future__ import annotations

import os
import random
import shutil
import signal
import sys
import tempfile
import time
import tomllib
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from lipsync.align import line
from lipsync.app.cli import app_of
from lipsync.app.hear import hearing
from lipsync.app.hear.voices import VoiceFound, VoicesFile, VoiceTask, known_voices
from lipsync.app.index.production_index import FOLDER as INDEX
from lipsync.app.work import processes
from lipsync.breakdown import breakdown_file
from lipsync.errors import LipsyncError
from lipsync.floor import prints, record_file
from lipsync.folders import files_below
from lipsync.production.loading import open_production

# What is run, and what is done to the production before, so that it has something to write.
Command = tuple[str, ...]
COMMANDS: dict[str, Command] = {
    "new": ("new", "{}/another", "--title", "Another"),
    "demo": ("demo", "{}/another"),
    "lock": ("lock", "{}", "020", "--upto", "40", "--wore", "30=crab:RING"),
    "unlock": ("unlock", "{}", "020", "--upto", "12"),
    "refilm": ("refilm", "{}", "020", "--from", "13", "--to", "20", "--reason", "the lamp fell over"),
    "sheet": ("sheet", "{}", "--shot", "020"),
    "sheets": ("sheet", "{}"),
    "packet": ("packet", "{}", "--shot", "020"),
    "count": ("count", "{}"),
    "track": ("track", "{}", "--shot", "020", "--as", "csv", "--as", "json"),
    "chart": ("chart", "{}"),
    "order": ("order", "{}"),
    "give": ("give", "{}", "--as", "list", "--as", "srt"),
    "take": ("take", "{}", "{}/given/01-lamp-room.csv", "--yes"),
    "stock": ("stock", "{}", "{}/shelf.csv", "--counted", "2026-12-05", "--yes"),
    "breakdown": ("breakdown", "{}", "--shot", "020", "--textgrid"),
    "import": ("breakdown", "{}", "--import", "{}/breakdowns/01-lamp-room/020-c.TextGrid"),
    "labels": ("labels", "{}"),
    "boards": ("boards", "{}"),
    "weigh": ("weigh", "{}", "01-lamp-room"),
    "worth": ("worth", "{}", "heron"),
    "side-by-side": ("side-by-side", "{}", "01-lamp-room", "--mouth-set", "heron=driftwood"),
    "overview": ("overview", "{}", "--page"),
    "preview": ("preview", "{}", "--shot", "020", "--form", "mp4"),
}

_EVENTS = ("os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.chmod", "os.link", "os.symlink", "os.truncate")
VOICES = "voices.toml"
_WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC


def start(folder: Path, command: str, call: int | None, after_s: float | None = None) -> int:
    """Run a command in a process of its own, killed before its so manieth change of a file, or after a time.

    Returns the process. A timer that nobody handles ends a process as SIGKILL does: no code of its own runs any more.
    """
    child = os.fork()
    if child:
        return child
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
    os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
    if call is not None:
        kill_before(folder, call)
    if after_s is not None:
        signal.signal(signal.SIGALRM, signal.SIG_DFL)
        signal.setitimer(signal.ITIMER_REAL, max(after_s, 1e-6))
    try:
        app_of()([part.format(folder) for part in COMMANDS[command]], standalone_mode=False)
    except LipsyncError:
        os._exit(3)
    except BaseException:
        os._exit(4)
    os._exit(0)


def kill_before(folder: Path, wanted: int) -> None:
    left = [wanted]

    def change() -> None:
        if left[0] == 0:
            os.kill(os.getpid(), signal.SIGKILL)
        left[0] -= 1

    def hook(event: str, arguments: tuple[object, ...]) -> None:
        opened = event == "open" and isinstance(arguments[2], int) and arguments[2] & _WRITING
        if (opened or event in _EVENTS) and str(arguments[0]).startswith(str(folder)):
            change()

    fsync = os.fsync

    def forced(file: int) -> None:
        if left[0] == 0 and os.fstat(file).st_size and not os.path.isdir(f"/proc/self/fd/{file}"):
            os.truncate(file, os.fstat(file).st_size // 2)
            os.kill(os.getpid(), signal.SIGKILL)
        change()
        fsync(file)

    os.fsync = forced
    sys.addaudithook(hook)


def state_of(folder: Path, *, hidden: bool = False) -> dict[str, bytes]:
    """Return the bytes of a production's files, without hidden ones or these alone."""
    paths = (path for path in folder.rglob("*") if path.is_file() and path.name.startswith(".") == hidden)
    paths = (
        path for path in paths if INDEX not in path.parts
    )  # it may be thrown away: nothing is wrong whatever it is
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(paths)}


def faults_left(folder: Path, before: dict[str, bytes], after: dict[str, bytes]) -> Iterator[str]:
    """Yield what a killed run left that is neither as before nor as after."""
    for name, content in state_of(folder).items():
        # This one is written after each voice that is found: it need only be read.
        if Path(name).name == VOICES:
            try:
                VoicesFile.model_validate(tomllib.loads(content.decode()))
            except ValueError as error:
                yield f"{name} cannot be read: {error}"
        elif content not in (before.get(name), after.get(name)):
            yield f"{name} is neither as before nor as after"
    for name in before:
        if not (folder / name).exists():
            yield f"{name} is gone"
    readers = ((prints.FOLDER, ".json", prints.read), (record_file.FOLDER, ".toml", record_file.read))
    for kind, ending, read in (*readers, ("breakdowns", ".toml", breakdown_file.read)):
        for path in files_below(folder / kind, ending):
            try:
                read(path)
            except LipsyncError as error:
                yield f"{path.name} cannot be read: {error}"


class Killing:
    """One command on one production, run undisturbed once, then killed again and again."""

    def __init__(self, production: Path, place: Path, command: str) -> None:
        self.place, self.command, self.production = place, command, production
        self.before = state_of(production)
        started = time.monotonic()
        with self._copy() as folder:
            assert os.waitpid(start(folder, command, None), 0)[1] == 0, f"{command} does not run"
            self.after = state_of(folder)
        self.lasts_s = time.monotonic() - started
        assert self.after != self.before, f"{command} writes nothing"

    def _copy(self) -> _Copy:
        return _Copy(self.production, self.place)

    def killed(self, when: Callable[[Path], int]) -> tuple[bool, list[str]]:
        """Kill a run and return whether it was still running, and what is wrong then or after the next run."""
        with self._copy() as folder:
            _, status = os.waitpid(when(folder), 0)
            wrong = list(faults_left(folder, self.before, self.after))
            started = time.monotonic()
            os.waitpid(start(folder, self.command, None), 0)
            self.lasts_s = time.monotonic() - started  # as long as the next is about to last, on a machine in use
            if state_of(folder) != self.after:
                wrong.append("the next run ends otherwise than an undisturbed one")
            # The file that holds a lock is taken away by whoever holds that lock next, which may be a later run.
            left = (name for name in state_of(folder, hidden=True) if not name.endswith(".lipsync-writing"))
            wrong += [f"{name} is left" for name in left]
            return os.WIFSIGNALED(status), [f"{self.command}: {one}" for one in wrong]

    def at_each_call(self, every: int = 1) -> tuple[int, list[str]]:
        """Kill before each call in turn, or each so-many-th; return the first that never came, and what is wrong."""
        wrong: list[str] = []
        for call in range(0, 10_000, every):
            was_running, found = self.killed(lambda folder, call=call: start(folder, self.command, call))
            wrong += [f"call {call}: {one}" for one in found]
            if not was_running:
                return call, wrong
        raise AssertionError("it never ends")

    def at_random(self, times: int, dice: random.Random) -> tuple[int, list[str]]:
        """Kill at random moments; return how many came before the end, and what is wrong."""
        running, wrong = 0, list[str]()
        for _ in range(times):

            def late(folder: Path) -> int:
                return start(folder, self.command, None, dice.uniform(0, self.lasts_s))

            was_running, found = self.killed(late)
            running += was_running
            wrong += found
        return running, wrong


class _Copy:
    def __init__(self, production: Path, place: Path) -> None:
        self.folder, self.production = place / "production", production

    def __enter__(self) -> Path:
        shutil.copytree(self.production, self.folder)
        return self.folder

    def __exit__(self, *_: object) -> None:
        shutil.rmtree(self.folder)


def readied(production: Path, place: Path, commands: Sequence[str]) -> Iterator[tuple[str, Path]]:
    """Yield each command with a production in which it has something to write."""
    listen_from_what_is_kept(production)
    folder = place / "readied"
    shutil.copytree(production, folder)
    # What has been written before is old, so that each file is replaced.
    assert os.waitpid(start(folder, "sheet", None), 0)[1] == 0
    scene = folder / "scenes" / "01-lamp-room.toml"
    for command in commands:
        if command in ("unlock", "refilm"):
            os.waitpid(start(folder, "lock", None), 0)
        if command in ("sheet", "sheets", "packet", "count", "track"):
            scene.write_text(scene.read_text("utf-8").replace('"3.25 s"', '"3.5 s"'), "utf-8")
        if command == "breakdown":
            for path in (folder / "breakdowns" / "01-lamp-room").glob("020-*.toml"):
                path.unlink()
        if command == "import":
            os.waitpid(start(folder, "breakdown", None), 0)
            grid = folder / "breakdowns" / "01-lamp-room" / "020-c.TextGrid"
            text = grid.read_text("utf-8")
            begins_s = text.split('text = "My"')[0].rsplit("xmin = ", 1)[1].split()[0]
            grid.write_text(text.replace(begins_s, f"{float(begins_s) - 0.005:.6f}"), "utf-8")
        if command == "stock":
            (folder / "shelf.csv").write_text("who,piece,there\nheron,REST,2\n", "utf-8")
        if command == "take":
            os.waitpid(start(folder, "give", None), 0)
            listed = folder / "given" / "01-lamp-room.csv"
            listed.write_bytes(listed.read_bytes().replace(b"Poor old lamp", b"Poor young lamp"))
        yield command, folder


def listen_from_what_is_kept(production: Path) -> None:
    """Let lines be heard and voices found as they are kept: what is tested is writing, listening takes minutes."""
    kept = [breakdown_file.read(path) for path in files_below(production / "breakdowns", ".toml")]
    by_text = {one.source.text: one.computed for one in kept}
    known = known_voices(open_production(production))

    def find(task: VoiceTask) -> VoiceFound:
        voice = known[str(task)]
        of = {one.key: one for one in task.candidates}
        lines = (voice.found_from, voice.adapted_from, voice.passed_over)
        used, adapted, passed_over = (tuple(of[one.line] for one in these) for these in lines)
        return VoiceFound(voice.profile, used, adapted, passed_over)

    line.listen_to = lambda _recording, text, _settings: by_text[text]
    hearing.find_voice = find
    processes.usable_cores = lambda: 1  # a worker would be a process that listens


def main(production: Path, random_times: int) -> int:
    """Kill everything everywhere, print the counts, and return whether anything was wrong."""
    dice, wrong, counts = random.Random(5), list[str](), Counter[str]()
    with tempfile.TemporaryDirectory() as place:
        for command, folder in readied(production, Path(place), list(COMMANDS)):
            killing = Killing(folder, Path(place), command)
            calls, found = killing.at_each_call()
            running, more = killing.at_random(random_times // len(COMMANDS), dice)
            wrong += [*found, *more]
            counts.update(calls=calls, random=running)
            print(f"{command}: {calls} calls, {running} random moments before the end")  # noqa: T201
    print(dict(counts), *wrong, sep="\n")  # noqa: T201
    return bool(wrong)


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 1000))
