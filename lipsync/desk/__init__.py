"""The listening desk: hear a line, see its mouth move, correct what the machine heard, in a browser.

server.py       takes a port, starts the server, says where the desk is
opening_page.py    hands the desk's address to a browser, hidden from everybody else on the machine
connections.py  few and short connections (the only file that knows uvicorn)
guard.py        which requests may pass: by Host, Origin, key, and size of the body
letting_in.py   the token that lets a browser in, and the secrets that the browser gets for it
app.py          the paths and what each answers (the only file that knows Starlette)
description.py  the same as an OpenAPI description, from which tests make requests
desk.py         what the paths call: lists, lines, changes, undo and redo
open_production.py  the production in memory, read again when one of its files changes
watching.py     whether anything was changed, as the operating system tells it (the only file that knows watchfiles)
outside.py      a code of all files on disk, for pages that wait for changes
states.py       how far each line is: not done, computed, doubts, checked, filmed
bodies.py       the changes that can be asked for, checked
fields.py       the types of the fields of a change, with their limits
changing.py     makes a change to the record of a line
refusals.py     what is wrong with a request, in the desk's own words
boundaries.py   a boundary moved, from row to row or finer
placing.py      words placed by hand
retyping.py     a word spelt differently, split or joined
choices.py      a piece put on a frame, or kept off it
again.py        a part of a line listened to again, or a word listened for in a gap
history.py      every state that a line was in: undo and redo have no limit
store.py        a line on disk: read with its version, written whole, never over a state that was not seen
views.py        what the browser is told, as plain tables
drawn.py        mouths as the browser draws them
locked.py       which frames are in the can, and stay as they are
tracks.py       the piece on each frame, as the printed sheet has it
print_work.py   prints a shot's sheet, packet, charts or preview, by the use cases of the commands
print_runs.py   the queue of printing: how far each run is, stopping it, its files
recordings.py   the recordings in use, kept in memory
recording_level.py  how loud the whole recording is
spectrogram.py  level and spectrogram of a line
sound.py        the sound of a line for the browser
whole_shot.py   the shot's other lines beside it, and the sound of all
static/         the page: plain web modules, no build step, nothing from elsewhere
"""
