"""The floor: what is filmed and what was printed, and what changed since.

as_filmed.py      what the rows of filmed frames say
cell_changes.py   what changed of a character's pieces, phonemes and marks, but for what moved with its words
change_words.py   what changed, in words
changes.py        one thing that changed between two states of a sheet
compared.py       what differs between two states of a shot
comparing.py      what changed from one state of a shot's sheet to another
filmed_rows.py    what is in the can, as rows of a table and as data for programs
layout_board.py   the pieces to lay out on the board for a shot, in the order in which they are used
listing.py        pages with one line for each thing: what changed, what to ask
locked_frames.py  what a plan must keep
locking.py        putting frames into the can and out of it
misfits.py        where the sound no longer fits what is filmed
packet.py         what goes to the set with a shot, in one file
print_tables.py   what values the file of a shot's prints may hold
prints.py         which states of a shot's sheet have been printed
record.py         which frames of a shot are in the can, as a series of events
record_file.py    the record of what is in the can, on disk
record_tables.py  the file of a shot's record as a table, checked
retakes.py        how often pieces were put on in takes that were thrown away
revising.py       the revision of a sheet that is printed
shot_files.py     where each shot's prints and its record lie
spans.py          first and last frame of runs of frames
state.py          what a printed sheet says
wearing.py        what was really on a puppet
word_changes.py   what changed of a character's words
"""
