"""Programs that test_killed.py kills. First argument: a production's folder; second: which of them.

loop  locks and unlocks frames without end, until it is killed; a line on standard output says that it has begun
each  kills a lock before each line of lipsync/files.py that it comes to, the first, the second and so on, and tells
      what each left behind: the record as before, as after, or broken
"""

import os
import signal
import sys
from itertools import count
from pathlib import Path

from lipsync.filming.locking import film_again, lock
from lipsync.filming.record_file import own_place
from tests.filming.build import production_of


def loop(production):
    print("begun", flush=True)  # noqa: T201
    while True:
        lock(production, "010", (1, 40), ["3=RING1"])
        film_again(production, "010", (21, 40), "the lamp fell over")
        lock(production, "010", (30, 72))
        film_again(production, "010", (1, 72), "the lamp fell over")


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
    {"loop": loop, "each": each}[sys.argv[2]](production_of(Path(sys.argv[1])))
