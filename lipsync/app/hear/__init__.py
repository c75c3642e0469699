"""From a production's lines to their breakdowns.

heard.py          what is known of a production's lines once they are heard
hearing.py        from a production's lines to their breakdowns
line_settings.py  how a line is listened to, and a code of all that bears on it
line_hearing.py   one line heard, by whoever is free
voices.py         the voice factor of each character, kept
voice_finding.py  the voice factor found from lines whose sound and text match
"""
