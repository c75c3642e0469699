"""`python -m lipsync` is `lipsync`."""

from lipsync.cli import main

main()
