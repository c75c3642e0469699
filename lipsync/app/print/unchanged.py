"""What is printed is what the files say: before a page is written, its input files are checked for changes.

In: a production, a plan, and the state of the files that it was made from, taken before they were read. Out: nothing,
or an error that names the files that were changed since; then the page is not printed. The check is made under the
lock under which the page is written.
"""

from __future__ import annotations

import time
from collections.abc import Iterable
from dataclasses import dataclass, field

from lipsync.app.plan.planning import Plans, ShotPlan
from lipsync.errors import InputError, Problem
from lipsync.floor.revising import Revised
from lipsync.production.values import Production
from lipsync.seen import SeenFile, changed_since

# Breakdowns of other shots matter to a plan too, by how loud a character speaks over the whole film. There are
# thousands, so they are checked again only after so many seconds (chosen). Whether another program has printed the
# shot meanwhile is checked every time.
_LOOK_AT_ALL_S = 1.0


@dataclass(slots=True)
class InputsWatch:
    """Checks whether the input files of plans are unchanged."""

    production: Production
    plans: Plans
    _looked_at: float = field(default=float("-inf"))

    def check(self, one: ShotPlan) -> None:
        """Check a shot's input files; call this under the lock under which the shot is written.

        Raises:
            InputError: naming the files that were changed since they were read.
        """
        inputs: Iterable[SeenFile] = (*self.production.read_from, *one.asked.inputs)
        if time.monotonic() - self._looked_at > _LOOK_AT_ALL_S:
            inputs = (*inputs, *self.plans.inputs)
        self._refuse(one, inputs)
        self._looked_at = time.monotonic()

    def check_revision(self, one: ShotPlan, revised: Revised) -> None:
        """Check that no other program has printed another state of the shot since its inputs were read.

        Raises:
            InputError: if one has.
        """
        if revised.is_new:
            self._refuse(one, one.locked.prints)

    def _refuse(self, one: ShotPlan, inputs: Iterable[SeenFile]) -> None:
        changed = changed_since(inputs)
        if changed:
            files = ", ".join(map(str, changed))
            facts = {"files": files, "production": self.production.folder}
            facts["called"] = self.production.called(one.scene.id, one.shot.id)
            raise InputError([Problem.of("changed meanwhile", one.scene.where(one.shot), **facts)])
