"""The use cases, each for one production: what commands and the desk call.

From the ground up:

index/    what was found out of which files
work/     who does it: cores, other machines
hear/     lines heard
amend/    lines amended by hand
plan/     tracks
print/    sheets, packets, charts, data
renew/    nothing done twice
order/    pieces counted, ordered, laid out, labelled
decide/   mouth sets and settings compared
take/     productions from lists and edits

answering.py  sheets and counts whose answers are kept while nothing changes
overview.py   the state of a production at a glance
checking.py   a whole production read as all commands would, every fault and all that is odd
records.py    results as plain rows
answers.py    the forms of what is answered with --json
cli.py        the command line, and with commands/ what parses and prints
"""
