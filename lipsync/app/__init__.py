"""The use cases, each for one production: what commands and the desk call.

alert_facts.py    what must be known before paper is used
amending.py       what a person decides about a line that has been heard
answers.py        the forms of what is answered with --json
asking.py         answers about prints
charting.py       the mouth chart of each character, to hang beside the puppet
cli.py            the command line
checking.py       a whole production read as all commands would, every fault and all that is odd
cluster.py        workers on other machines
counts.py         from tracks to the count of pieces
deciding.py       what a director and a head of department decide from
entry_writing.py  what a scene's file says of a line, changed in place
production_writing.py  what production.toml says for all lines, changed in place
explaining.py     why a frame wears the piece that it wears, for the characters of a shot (fit/why.py), in the
                  production's numbers
heard.py          what is known of a production's lines once they are heard
filmed_touched.py what taking would do to shots of which frames are in the can
giving.py         a production given out again: lists, timelines, subtitles
hearing.py        from a production's lines to their breakdowns
kept_tracks.py    tracks as the index keeps them
labelling.py      labels for the drawers, boxes and backs of pieces
laying_out.py     the board of each puppet for each scene, to lay its pieces out on
levels.py         how loud each phoneme is that was placed by hand
in_hand.py        what a run has in hand, so that another leaves it alone
line_hearing.py   one line heard, by whoever is free
line_settings.py  how a line is listened to, and a code of all that bears on it
jobs.py           from breakdowns to what fitting needs
lines_in_shot.py  which heard lines lie in their shots, and which do not
order_changes.py  what changed from one revision of the order to the next, in words
order_files.py    the order for the workshop on disk
order_record.py   what was ordered, kept
order_tables.py   the order for the workshop as CSV and workbook
ordering.py       the order for the puppet workshop
overview.py       the state of a production at a glance
own_files.py      which program it is: codes of its version and of its own files
packing.py        packets on disk
part_tracks.py    a shot's tracks as they are counted, with the parts that are listed by hand
pictures.py       the studio's own pictures of pieces; one that cannot be read holds up nothing
planning.py       from breakdowns to tracks
printing.py       from tracks to paper
processes.py      workers on this machine
production_index.py  what was found out of which files, so that nothing is done twice
records.py        results as plain rows
renewing.py       what of a production must be done anew
session_cutting.py a recording of a whole session cut into its lines by listening
sessions.py       sessions of a production cut: which take of each line is chosen, and what is told
shot_codes.py     codes of all that a shot's tracks and its sheet depend on
sparing.py        a fault of the program's own in one of many, told as that one's
showing.py        another mouth set or other settings beside the present ones, written
standing_answer.py  the answer of the last run, while nothing has changed
stock_taking.py   a sheet of stock, as it was counted at the shelf, taken in
taking.py         lists, edits and recordings taken into a production
track_forms.py    the forms in which a track can be written
tracked.py        shots with what is worn in them, planned now or known
tracking.py       from tracks to data
trying.py         another mouth set or other settings tried on a scene, beside the present ones
unchanged.py      what is printed and filmed is what the files say
voice_finding.py  the voice factor found from lines whose sound and text match
voices.py         the voice factor of each character, kept
workers.py        work shared out
workshop_order.py  an order for the workshop as a value, and as plain rows
worth_making.py   what making each of a character's reduced sets would take
"""
