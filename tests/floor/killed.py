"""Programs that test_killed.py kills. First argument: a production's folder; second: which of them.

each  kills a lock before each line of lipsync/files.py that it comes to, the first, the second and so on, and tells
      what each left behind: the record as before, as after, or broken
many  kills a program that locks and unlocks without end, 100 times, each a moment later or earlier, and tells each
      time whether the record is whole and keeps all that it had, or what is wrong
both  locks one frame after the other, each in a program of its own, eight at a time
"""

import os
import random
import signal
import sys
import time
from itertools import count
from pathlib import Path

from lipsync.floor.locking import lock, refilm
from lipsync.floor.record import Filmed
from lipsync.floor.record_file import own_place, read, text_of
from tests.floor.build import production_of


def walk(production):
    """Lock and unlock without end, from whatever was left."""
    if read_or_none(production).frames:
        refilm(production, "010", (1, 72), "a new walk begins with nothing in the can")
    while True:
        lock(production, "010", (1, 40), ["3=RING1"])
        refilm(production, "010", (21, 40), "the lamp fell over")
        lock(production, "010", (30, 72))
        refilm(production, "010", (1, 72), "the lamp fell over")


def read_or_none(production):
    path = own_place(production.folder, "01-pier", "010")
    return read(path) if path.exists() else Filmed("010")


def many(production):
    path, dice = own_place(production.folder, "01-pier", "010"), random.Random(9)
    # How long to wait at most: longer after nothing was written, else shorter, so that both are seen on any machine.
    most_s = 0.02
    for _ in range(100):
        before = read_or_none(production)
        child = os.fork()
        if child == 0:
            walk(production)
        time.sleep(dice.uniform(0.0, most_s))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        try:
            after = read_or_none(production)
            known = after.events[: len(before.events)] == before.events
            same = not path.exists() or path.read_text("utf-8") == text_of(after, 1)
            state = "whole" if known and same else "changed"
            written = len(after.events) - len(before.events)
            most_s *= 0.8 if written else 1.25
            print(state, written)  # noqa: T201
        except Exception as error:
            print("broken", repr(error))  # noqa: T201
        if len(read_or_none(production).events) > 40:
            path.unlink()


def both(production):
    children = []
    for frame in range(1, 41):
        child = os.fork()
        if child == 0:
            lock(production, "010", (frame, frame))
            os._exit(0)
        children.append(child)
        if len(children) == 8:
            os.waitpid(children.pop(0), 0)
    for child in children:
        os.waitpid(child, 0)
    print(*sorted(read_or_none(production).frames))  # noqa: T201


def each(production):
    path = own_place(production.folder, "01-pier", "010")
    lock(production, "010", (1, 40))
    before = path.read_bytes()
    lock(production, "010", (41, 60))
    after = path.read_bytes()
    for line in count(1):
        path.write_bytes(before)
        child = os.fork()
        if child == 0:
            sys.settrace(killing_before(line))
            lock(production, "010", (41, 60))
            os._exit(0)
        _, status = os.waitpid(child, 0)
        left = path.read_bytes()
        print("before" if left == before else "after" if left == after else "broken")  # noqa: T201
        if os.WIFEXITED(status):
            break


def killing_before(wanted):
    """Return a tracer that kills the process before the line of files.py that comes as number `wanted`."""
    lines = count(1)

    def trace(frame, event, _):
        if not frame.f_code.co_filename.endswith(os.path.join("lipsync", "files.py")):
            return None
        if event == "line" and next(lines) == wanted:
            os.kill(os.getpid(), signal.SIGKILL)
        return trace

    return trace


if __name__ == "__main__":
    {"each": each, "many": many, "both": both}[sys.argv[2]](production_of(Path(sys.argv[1])))
