"""The listening desk: hear a line, see its mouth move, correct what the machine heard, in a browser.

server.py       takes a port, starts the server, says where the desk is
opening_page.py    the address given to a browser, and shown to nobody else on the machine
connections.py  few and short connections (the only file that knows uvicorn)
guard.py        who may ask: the Host, the Origin, the key, the size of what is sent
letting_in.py   the token that lets a browser in, and the secrets that it gets for it
app.py          the paths and what each answers (the only file that knows Starlette)
description.py  the same as an OpenAPI description, which tests ask questions from
desk.py         what the paths call: lists, lines, changes, undo and redo
open_production.py  the production in memory, read again when one of its files changes
watching.py     whether anything was changed, as the system tells it (the only file that knows watchfiles)
outside.py      a code of all that is on disk, for pages that wait for news of it
states.py       how far each line is: not done, computed, doubts, checked, filmed
bodies.py       the changes that can be asked for, checked
fields.py       what the fields of a change may hold
changing.py     a change made to what is kept of a line
refusals.py     what is wrong with what was sent, in the desk's own words
boundaries.py   a boundary moved, from row to row or finer
placing.py      words placed by hand
retyping.py     a word written otherwise, split or joined
choices.py      a piece put on a frame, or kept off it
again.py        a part of a line listened to again, or a word listened for in a gap
history.py      every state that a line was in, so that undo and redo never end
store.py        a line on disk: read with its version, written whole, never over a state that was not seen
views.py        what the browser is told, as plain tables
drawn.py        mouths as the browser draws them
locked.py       which frames are in the can, and stay as they are
tracks.py       the piece on each frame, as the printed sheet has it
print_work.py   what a shot is printed as, by the use cases of the commands
print_runs.py   what is being printed: how far it is, stopped, its files
recordings.py   the recordings in use, kept in memory
recording_level.py  how loud the whole recording is
spectrogram.py  level and spectrogram of a line
sound.py        the sound of a line for the browser
whole_shot.py   the shot's other lines beside it, and the sound of all
static/         the page: plain web modules, no build step, nothing from elsewhere
"""
