"""Makes `python -m lipsync` the same as the command `lipsync`."""

from lipsync.app.cli import main

main()
