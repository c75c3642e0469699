"""Running the command line without root's right to read everything, so that permissions mean what they say.

Where the tests run as root, the started program gives up the two rights that pass over permissions (capabilities(7):
CAP_DAC_OVERRIDE is 1, CAP_DAC_READ_SEARCH is 2; prctl(2): PR_CAPBSET_DROP is 24) before it starts; else it has none.
"""

from __future__ import annotations

import ctypes
import os
import subprocess
import sys

from tests.running import Ran

_PR_CAPBSET_DROP, _PASSING_OVER_PERMISSIONS = 24, (1, 2)

# Why these tests are skipped, if they are.
CANNOT = "" if sys.platform == "linux" else "permissions are tested on Linux"


def give_up_root() -> None:
    """Give up what passes over permissions; takes effect when another program is started."""
    if os.geteuid() == 0:
        libc = ctypes.CDLL(None, use_errno=True)
        for right in _PASSING_OVER_PERMISSIONS:
            if libc.prctl(_PR_CAPBSET_DROP, right, 0, 0, 0):
                os._exit(99)


def run_unprivileged(*arguments: object) -> Ran:
    """Run `lipsync` with these arguments."""
    command = [sys.executable, "-m", "lipsync", *map(str, arguments)]
    done = subprocess.run(command, capture_output=True, text=True, preexec_fn=give_up_root, timeout=300)
    return Ran(done.returncode, done.stdout, done.stderr)
