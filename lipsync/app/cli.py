"""The command line: all commands together; errors that a person can mend become sentences and exit codes."""

from __future__ import annotations

import os
import re
import signal
import sys
from collections.abc import Callable
from functools import wraps
from typing import Annotated, Any, get_type_hints

import typer

from lipsync.app.commands import (
    desk_commands,
    film_commands,
    fit_commands,
    label_commands,
    main_commands,
    preview_commands,
    print_commands,
    take_commands,
)
from lipsync.app.commands.command_line import print_refusal, say
from lipsync.errors import ExitCode, LipsyncError
from lipsync.version import VERSION

_HELP = "From recorded dialogue to the mouth piece on every frame: breakdowns, exposure sheets and piece counts."
_EPILOG = "A production is a folder; start one with `lipsync new FOLDER`, or see one at work with `lipsync demo`."
_COMPLETING = "_LIPSYNC_COMPLETE"  # set by the shell's script while it asks how what is typed may go on


def _answering(command: Callable[..., None]) -> Callable[..., None]:
    """Tell when a command was stopped; where it was refused and `--json` is given, print the refusal as JSON too."""
    # Evaluated once here: typer would evaluate each of them four times.
    command.__annotations__ = get_type_hints(command, include_extras=True)

    @wraps(command)
    def run(*arguments: Any, **options: Any) -> None:
        try:
            command(*arguments, **options)
        except KeyboardInterrupt:
            say("Stopped. What was finished is kept.")
            sys.exit(ExitCode.INTERRUPTED)
        except LipsyncError as error:
            if options.get("as_json"):
                print_refusal(error)
            raise

    return run


def _in_brief(command: Callable[..., None]) -> str:
    """Return a command's short help: its docstring up to the first colon, semicolon or full stop."""
    return re.split(r"[:;.](?:\s|$)", command.__doc__ or "", maxsplit=1)[0] + "."


GROUPS = (
    main_commands,
    take_commands,
    fit_commands,
    label_commands,
    film_commands,
    print_commands,
    desk_commands,
    preview_commands,
)

COMMANDS = {command.__name__.lower().replace("_", "-"): command for group in GROUPS for command in group.COMMANDS}


def app_of(asked: str | None = None) -> typer.Typer:
    """Return the command line.

    `asked` is the command that is to be run: to read the options of all others too takes as long again as loading the
    rest. All are read if it is None, as for the completion of what is typed in a shell.
    """
    app = typer.Typer(
        no_args_is_help=True,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["-h", "--help"]},
        help=_HELP,
        epilog=_EPILOG,
    )
    app.callback(invoke_without_command=True)(_root)
    for name, command in COMMANDS.items():
        run = _answering(command) if asked in (None, name) else _not_asked
        app.command(name, short_help=_in_brief(command))(run)
    return app


def _root(*, version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False) -> None:
    if version:
        print(f"lipsync {VERSION}")
        raise typer.Exit


def _not_asked() -> None:
    """Stand in the list of commands for one that is not run."""


def main() -> None:
    """Run the command line; every error that a person can mend ends in its sentence and its exit code."""
    asked = next((argument for argument in sys.argv[1:] if argument in COMMANDS), "")
    for name in ("SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) is signal.SIG_DFL:
            signal.signal(number, signal.default_int_handler)  # as if stopped from the keyboard
    try:
        app_of(None if _COMPLETING in os.environ else asked)(prog_name="lipsync")
    except LipsyncError as error:
        say(str(error))
        sys.exit(error.exit_code)
