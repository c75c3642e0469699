"""Trying mutants: pytest loads a room's tests once, and a process is forked from it for each mutant.

A mutant differs in the body of one function. So the fork puts the mutated code in the place of that function's, where
everybody who holds the function finds it, and runs the tests that reach it, the quickest first, up to the first that
fails. Nothing is written, and nothing is loaded anew.

What that cannot see is told apart. A test that starts another program has the real one there: it is not counted as
reaching anything. A function that ran while tests were loaded may have left its results in a table: a mutant of it
that survives is marked `early`. Tests that need the sample production heard are left out.
"""

from __future__ import annotations

import ast
import builtins
import gc
import json
import os
import resource
import shutil
import signal
import sys
import tempfile
import time
import traceback
import warnings
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from functools import _lru_cache_wrapper
from pathlib import Path
from types import CodeType, FunctionType

import pytest

MEMORY_BYTES = 4 << 30
HEARS = "heard_sample"
TOLD = "_reached_by_mutate"
NO_TRIAL = 9
Where = tuple[str, str]  # a module's path, and the name of a function in it, with those of what it lies in


def codes(source: str | ast.AST, path: str) -> dict[str, CodeType]:
    """Return the code of a module's functions, without those that lie in another function."""
    found: dict[str, CodeType] = {}
    waiting = [compile(source, path, "exec", dont_inherit=True)]
    while waiting:
        for inner in waiting.pop().co_consts:
            if isinstance(inner, CodeType):
                if inner.co_name.startswith("<"):
                    continue
                if inner.co_flags & 2:  # it has names of its own: a function, and no class
                    assert inner.co_qualname not in found, inner.co_qualname
                    found[inner.co_qualname] = inner
                else:
                    waiting.append(inner)
    return found


def telling(tree: ast.Module, module: str) -> ast.Module:
    """Return the module given, changed: its functions tell the set TOLD, among the builtins, that they run."""
    for function in list(ast.walk(tree)):
        if isinstance(function, ast.FunctionDef):
            told = ast.parse(f"{TOLD}.add(({module!r}, {function.name!r}))").body
            function.body[:0] = told
    return ast.fix_missing_locations(tree)


class Trials:
    """A plugin of pytest that, in place of running its tests, hands `Trying` to `use`."""

    def __init__(self, paths: Mapping[str, str], use: Callable[[Trying], None]) -> None:
        self._paths = paths
        self._use = use
        self._error: Exception | None = None
        self.early: set[Where] = set()

    def collect(self, tests: Iterable[str]) -> None:
        """Load the tests, and use them."""
        files = {path: module for module, path in self._paths.items()}

        def watch(frame: object, event: str, _: object) -> None:
            code = frame.f_code  # type: ignore[attr-defined]
            if event == "call" and code.co_filename in files:
                self.early.add((files[code.co_filename], code.co_name))

        options = ["-o", "addopts=--doctest-modules --import-mode=importlib", "-q", "-s", "--no-header"]
        sys.setprofile(watch)
        try:
            code = pytest.main([*options, "-p", "no:xdist", "-p", "no:cacheprovider", *tests], plugins=[self])
        finally:
            sys.setprofile(None)
        if self._error:
            raise self._error
        assert not code, f"pytest ended with {code}"

    def pytest_sessionstart(self) -> None:
        """A failure is enough: nobody reads the smallest one."""
        import hypothesis  # pytest wants to load it itself

        phases = [hypothesis.Phase.explicit, hypothesis.Phase.generate]
        hypothesis.settings.register_profile(
            "mutants",
            deadline=None,
            derandomize=True,
            database=None,
            phases=phases,
            suppress_health_check=list(hypothesis.HealthCheck),
        )
        hypothesis.settings.load_profile("mutants")

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Be asked for the run of all tests."""
        sys.setprofile(None)
        try:
            assert not session.testsfailed, "a test could not be loaded"
            self._use(Trying(session, self._paths))
        except Exception as error:
            self._error = error
        return True


class Trying:
    """Runs tests in forks of this process."""

    def __init__(self, session: pytest.Session, paths: Mapping[str, str]) -> None:
        self._items = {item.nodeid: item for item in session.items if HEARS not in item.fixturenames}
        self._paths = paths
        self._functions: dict[tuple[str, str], list[FunctionType]] = defaultdict(list)
        known = set(paths.values())
        for one in gc.get_objects():
            if type(one) is FunctionType and one.__code__.co_filename in known:
                self._functions[one.__code__.co_filename, one.__code__.co_qualname].append(one)
            elif type(one) is _lru_cache_wrapper and one.__module__.split(".")[0] in {"lipsync", "tests"}:
                one.cache_clear()
        gc.collect()
        gc.freeze()

    def reaching(self) -> tuple[dict[Where, list[str]], dict[str, float], list[str]]:
        """Return which tests reach which function, the quickest first; the CPU seconds of each; those that fail."""

        def tell(out: int) -> None:
            for module, path in self._paths.items():
                self._put(codes(telling(ast.parse(Path(path).read_text("utf-8")), module), path), path)
            sink = _Noting()
            self._run(self._items, sink)
            os.write(out, json.dumps([sink.reached, sink.took, sink.failed]).encode())

        with tempfile.TemporaryFile() as out:
            code = self._forked(lambda: tell(out.fileno()), None)
            assert code == 0, f"the tests by themselves ended with {code}"
            out.seek(0)
            reached, took, failed = json.loads(out.read())
        of: dict[Where, list[str]] = defaultdict(list)
        for test in sorted(took, key=lambda test: took[test]):
            if test not in failed:
                for module, function in reached[test]:
                    of[module, function].append(test)
        return of, took, failed

    def kills(self, module: str, source: str, tests: list[str], cpu_s: float) -> bool:
        """Return whether a test fails on a module's mutant, or takes more of the processor than is allowed."""

        def judge() -> None:
            try:
                self._put(codes(source, self._paths[module]), self._paths[module])
            except (AssertionError, ValueError):
                os._exit(NO_TRIAL)
            self._run(tests, _FirstFailure())

        code = self._forked(judge, cpu_s)
        assert code != NO_TRIAL, "this mutant cannot be put in place of its function"
        return bool(code)

    def _put(self, changed: Mapping[str, CodeType], path: str) -> None:
        for name, code in changed.items():
            for function in self._functions[path, name]:
                function.__code__ = code

    def _run(self, tests: Iterable[str], sink: object) -> None:
        items = [self._items[test] for test in tests]
        items[0].config.pluginmanager.register(sink)
        for item, after in zip(items, [*items[1:], None], strict=True):
            item.ihook.pytest_runtest_protocol(item=item, nextitem=after)

    def _forked(self, work: Callable[[], None], cpu_s: float | None) -> int:
        """Do work in a fork, with a folder for temporary files of its own; return how it ended."""
        folder = tempfile.mkdtemp()
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of forking beside threads of numpy's, which are told of a fork
            child = os.fork()
        if not child:
            _alone(folder, cpu_s, work)
        try:
            return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
        finally:
            with suppress(ProcessLookupError):
                os.killpg(child, signal.SIGKILL)  # what it started and left running
            shutil.rmtree(folder, ignore_errors=True)


def _alone(folder: str, cpu_s: float | None, work: Callable[[], None]) -> None:
    """Be the fork; this ends the process."""
    try:
        os.setsid()
        if cpu_s is not None:
            resource.setrlimit(resource.RLIMIT_CPU, (int(cpu_s) + 1, int(cpu_s) + 1))
            resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
            signal.alarm(10 * int(cpu_s) + 60)  # for one that waits for ever
        tempfile.tempdir = os.environ["TMPDIR"] = os.environ["PYTEST_DEBUG_TEMPROOT"] = folder
        silent = os.open(os.devnull, os.O_RDWR)
        for number in range(3):
            os.dup2(silent, number)
        work()
        os._exit(0)
    except BaseException:
        traceback.print_exc()
        os._exit(3)  # whatever it was, it must not run on as the process it was forked from


class _FirstFailure:
    """Ends the process at the first test that fails."""

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            os._exit(1)


class _Noting:
    """Notes of each test what it reached, how long it took, and whether it failed."""

    def __init__(self) -> None:
        self.reached: dict[str, list[Where]] = {}
        self.took: dict[str, float] = {}
        self.failed: list[str] = []

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        now: set[Where] = set()
        setattr(builtins, TOLD, now)
        began = time.process_time()
        answer = yield
        self.took[item.nodeid] = time.process_time() - began
        self.reached[item.nodeid] = sorted(now)
        return answer  # type: ignore[return-value]

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if not report.passed:
            self.failed.append(report.nodeid)
