"""From breakdowns to tracks.

jobs.py           from breakdowns to what fitting needs
lines_in_shot.py  which heard lines lie in their shots, and which do not
planning.py       from breakdowns to tracks
tracked.py        shots with what is worn in them, planned now or known
part_tracks.py    a shot's tracks as they are counted, with the parts that are listed by hand
alert_facts.py    what must be known before paper is used
"""
