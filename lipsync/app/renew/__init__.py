"""What is known is not done again: from a production to its tracks and sheets, whatever has changed.

renewing.py         what of a production must be done anew
known_lines.py      what is known of lines without reading them
shot_codes.py       codes of all that a shot's tracks and its sheet depend on
kept_tracks.py      tracks as the index keeps them
standing_answer.py  the answer of the last run, while nothing has changed
"""
