"""The command line: all commands together; errors that a person can mend become sentences and exit codes."""

from __future__ import annotations

import re
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

app = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
    help="From recorded dialogue to the mouth piece on every frame: breakdowns, exposure sheets and piece counts.",
    epilog="A production is a folder; start one with `lipsync new FOLDER`, or see one at work with `lipsync demo`.",
)


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

for command in (command for group in GROUPS for command in group.COMMANDS):
    app.command(short_help=_in_brief(command))(_answering(command))


@app.callback(invoke_without_command=True)
def _root(*, version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False) -> None:
    if version:
        print(f"lipsync {VERSION}")
        raise typer.Exit


def main() -> None:
    """Run the command line; every error that a person can mend ends in its sentence and its exit code."""
    try:
        app(prog_name="lipsync")
    except LipsyncError as error:
        say(str(error))
        sys.exit(error.exit_code)
