"""`python -m lipsync` is `lipsync`."""

from lipsync.app.cli import main

main()
