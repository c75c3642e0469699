"""The listening desk: hear lines, see the mouth move, correct what was heard, in a browser."""

from __future__ import annotations

from typing import Annotated

import typer

from lipsync.app.commands.command_line import Folder, say


def desk(
    folder: Folder,
    port: Annotated[
        int | None,
        typer.Option("--port", min=1, max=65535, metavar="NUMBER", help="The port to try first; the next if in use."),
    ] = None,
    address: Annotated[
        str,
        typer.Option("--address", metavar="ADDRESS", help="Let other machines in, at this address of this machine."),
    ] = "127.0.0.1",
    browser: Annotated[bool, typer.Option("--browser/--no-browser", help="Open a browser.")] = True,
) -> None:
    """Hear lines, see the mouth move, and correct what was heard, in a browser on this machine."""
    from lipsync.desk.desk import Desk
    from lipsync.desk.server import DeskAddress, serve

    serve(Desk(folder), DeskAddress(address, port, browser), say)


COMMANDS = (desk,)
