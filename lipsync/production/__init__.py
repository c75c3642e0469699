"""A production's folder: read, checked, started; and what lists, edits and recordings say, taken into it.

broadcast_wave.py     what a broadcast wave file says of itself: time stamp, length, scene and take
dialogue_list.py      a dialogue list, CSV or workbook, read
drafts.py             shots and lines while lists and edits are put together
edit_list.py          an edit decision list in the CMX 3600 form, read
edit_places.py        an edit's clips found among shots and lines
edit_points.py        what an edit's event says of its line
given.py              a production given out as lists and timelines
headings.py           the columns of a dialogue list, known by their headings
joining.py            lists, edits, scripts and recordings put together
letters.py            texts compared without case, spaces and signs; numbers in letters; file names
line_ids.py           which line of the production a row is about
listed.py             what lists, edits, scripts and recordings say, before it is put together
listings.py           which reader reads a file
loading.py            reading a production's folder
naming.py             scenes, shots and characters found by what lists and edits call them
production_faults.py  what one table of a production says that another table, or another file, does not allow
production_tables.py  a production as people write it, a table for each file
production_text.py    `production.toml` as text, one entry changed in place
recording_faults.py   what is wrong with recordings and cues, as far as the head of each file shows
recording_index.py    recordings found by what a list or an edit calls them
recording_names.py    recordings whose names say the line
recut.py              what taking lists and edits in would change
resolving.py          a line's draft resolved, or why it cannot be
sample.py             the sample production, put where it can be worked on
scene_amending.py     scenes' files as they will be once lists and edits are taken
scene_text.py         a scene's file as text, amended in place
script_text.py        a production script as plain text, read
speeches.py           what scripts and subtitles say, given to lines without words
starting.py           starting a production that a person can fill in
subtitle_file.py      subtitles, read as text
taking_settings.py    how lists, edits and recordings are taken in, as production.toml says
stock_list.py         a sheet of stock, as it was counted at the shelf, read
stock_text.py         stock.toml as text that people wrote, with what was counted put in
text_table.py         tables as text, read
timeline_file.py      a timeline of OpenTimelineIO, read and written
toml_text.py          parts of TOML files as text, read and written
values.py             a whole production, checked
wanted.py             scenes as they will be once lists and edits are taken
workbook_file.py      workbooks of spreadsheets, read
written_times.py      times as people write them, in microseconds
"""
