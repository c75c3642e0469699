"""The use cases, each for one production: what commands and the desk call.

alert_facts.py    what must be known before paper is used
amending.py       what a person decides about a line that has been heard
answers.py        the forms of what is answered with --json
asking.py         answers about prints
charting.py       the mouth chart of each character, to hang beside the puppet
cli.py            the command line
checking.py       a whole production read as all commands would, every fault and all that is odd
counts.py         from tracks to the count of pieces
deciding.py       what a director and a head of department decide from
explaining.py     why a frame wears the piece that it wears, for the characters of a shot (fit/why.py), in the
                  production's numbers
heard.py          what is known of a production's lines once they are heard
hearing.py        from a production's lines to their breakdowns
jobs.py           from breakdowns to what fitting needs
lines_in_shot.py  which heard lines lie in their shots, and which do not
order_files.py    the order for the workshop on disk
ordering.py       the order for the puppet workshop
packing.py        packets on disk
planning.py       from breakdowns to tracks
printing.py       from tracks to paper
records.py        results as plain rows
showing.py        another mouth set or other settings beside the present ones, written
tracking.py       from tracks to data
trying.py         another mouth set or other settings tried on a scene, beside the present ones
unchanged.py      what is printed and filmed is what the files say
voices.py         the voice factor of each character
"""
