"""The words of messages: for each kind what is so, and what to do about it.

Another language needs another such table.

In: a kind and the facts that its sentences name. Out: two sentences, the second empty where nothing is to be done. A
message (message.py) is identified by its kind, scene, shot and line, never by its words. Some kinds are only a part
of another sentence, such as a reason; `phrase` returns them.
"""

from __future__ import annotations

import shlex
from collections.abc import Mapping

# Kind -> what is so, and what to do. Names in braces are facts.
SENTENCES: Mapping[str, tuple[str, str]] = {
    # Of what is heard.
    "no line yet": ("no shot has a line yet", "write each into its shot, under [[shot.line]]"),
    "pronunciation of no line": ("{word!r} is in no line", "write it as the lines do, or take it out"),
    "no pronunciation": ("nobody has said how {word!r} is spoken", "add it to the production's pronunciations"),
    "mostly doubtful": (
        "{doubtful} of its {words} words are doubtful",
        "check that its text is what this recording says",
    ),
    "no such cue": ("[{cue}] is no cue of the character's mouth set; it has {known}", ""),
    "newer waits": (
        "the breakdown that stands is from an older text or recording, and a newer computation waits",
        "take it with lipsync breakdown {production} --take-new {line}",
    ),
    "disagreement": ("{text}", ""),
    "all doubtful": ("all of it is doubtful: {why}", "{remedy}"),
    "voice without text": (
        "voice without text from {start} s to {end} s",
        "listen to it: write what is said there into the text, or say at the desk that nothing is said there",
    ),
    # Why the text of a line is taken not to be what is said: one kind for each `model.Rejection`.
    **{
        f"rejection: {kind}": (
            what,
            "check its text, its in and out and its voice factor, or place its words by hand",
        )
        for kind, what in {
            "not said": "its text is not what is said in the recording, as far as can be heard",
            "not found": "its text was not found in the recording",
            "no speech": "nobody is heard to speak in the recording",
            "too fast": "its text has more sounds than anyone could say in the time",
            "too short": "most of what is heard is not in its text",
            "stopped": "the search for its text took too long and was stopped",
        }.items()
    },
    "rejection: not heard": ("nobody has listened to it yet", "run `lipsync breakdown`, or place its words by hand"),
    "rejection: not read": ("its text cannot be read aloud", "write it differently, or place its words by hand"),
    # Of a task that is done for one of many lines, shots or pictures.
    "own fault": (
        "was not done because of a fault of the program's own: {fault}",
        "please report this message, and what the program was asked to do. Everything else goes on",
    ),
    "worker died": (
        "was not done: the process that worked on it ended twice before it was finished",
        "free some memory, or give fewer --jobs, and run this again",
    ),
    # Of who works.
    "no jobs": ("{jobs} lines at once is no work", "write 1 or more, or leave it out"),
    "another run": (
        "another run is at work on it: what that has in hand is left to it, the rest is done here",
        "",
    ),
    "no cluster library": (
        "needs Dask, which is not installed",
        "add it with: pip install 'distributed>=2026.8,<2027'",
    ),
    "nobody answers": ("nobody answers at {address}: {reason}", "start a scheduler there, or correct the address"),
    "no worker": ("the scheduler at {address} has no worker", "start one: dask worker {address} --nthreads 1"),
    "other program": (
        "the worker at {worker} has another program: {difference}",
        "install the same on it as here, or end it, and run this again",
    ),
    "no worker left": (
        "no worker is left at {address}; what was finished is kept",
        "start workers there, and run this again",
    ),
    "cluster gone": (
        "the scheduler at {address} is gone; what was finished is kept",
        "start it again with its workers, and run this again",
    ),
    # Of what is kept of a line when it is computed again; `why` is one of the reasons below.
    "stands": (
        "{why}; the {state} breakdown stands, and the new computation waits beside it; when it is taken, corrections "
        "of unchanged words move along",
        "",
    ),
    "edited by hand": ("rows under [computed] were edited by hand; they now stand under [[corrected]]: {parts}", ""),
    "edited without effect": (
        "rows under [computed] were edited by hand; the edits change nothing that is heard",
        "",
    ),
    "edits dropped": ("rows edited by hand under [computed] belong to the old recording and are dropped", ""),
    "nothing newer": ("there is no newer computation to take", ""),
    "newer taken": ("the newer computation is taken", "listen to the line again and mark it as checked"),
    "corrections moved": ("corrections moved along: {parts}", ""),
    "corrections moved by guess": (
        "corrections moved along: {parts}; their times are guesses on the new recording",
        "",
    ),
    "correction dropped": ('the correction of "{part}" is dropped: {reason}{note}', ""),
    "note of a correction": (' (its note: "{note}")', ""),
    "pieces to check": (
        "{why}the pieces chosen by hand stay as they are",
        "look at them again (frames {frames}, counted from 0)",
    ),
    # Why a newer computation waits, or pieces are to be looked at again.
    "why: heard now": ("it is listened to now", ""),
    "why: checked": ("it was checked, and is now computed otherwise", ""),
    "why: length": ("its recording changed in length", ""),
    "why: text": ("its text changed: {changes}", ""),
    "why: same words": ("only in capitals or punctuation", ""),
    "why: in or out": ("its in or out point moved", ""),
    "why: recording": ("its recording changed ({recording})", ""),
    "word replaced": ('"{before}" is now "{after}"', ""),
    "word gone": ('"{before}" is gone', ""),
    "word added": ('"{after}" is added', ""),
    # Why a correction is dropped when a newer computation is taken.
    "not moved: place taken": ("another correction stands there", ""),
    "not moved: part gone": ("what it replaces is no longer there", ""),
    "not moved: after the end": ("it lies after the end of the line", ""),
    "not moved: before the beginning": ("it lies before the beginning of the line", ""),
    "not moved: added": ("it was added to the old recording", ""),
    "not moved: only times": ("its times were those of the old recording", ""),
    "not moved: no room": ("there is no room for it where the word is heard now", ""),
    # Where a computation and corrections say different things.
    "computed part": ('part {index} "{label}", computed from {start} s to {end} s', ""),
    "part squeezed": ("{part}: squeezed to next to nothing by the corrections beside it", ""),
    "part left out": ("{part}: left out, since the corrections leave no room for it", ""),
    "boundary moved": (
        'part {index} "{label}": its {boundary} is corrected to {corrected} s, the new computation has it at '
        "{computed} s",
        "",
    ),
    "corrections brought in": ("{kept} corrections are kept, {new} of them new", ""),
    "nothing to take": ("holds no newer computation; there is nothing to take", ""),
    "not listened to": (
        "is not there: the line has not been listened to",
        "run lipsync breakdown {production} first",
    ),
    # Of what there is in a production.
    "no such scene": ("holds no scene {scene!r}; it has {known}", ""),
    "no such shot": ("holds no shot {shot!r}; it has {known}", ""),
    "several shots": ("holds several shots {shot!r}; name its scene as well: {known}", ""),
    "several lines": ("there are several lines {line!r}; name the scene as well: {known}", ""),
    "no such line": ("there is no line {line!r} in the production; it has {known}", ""),
    "no such character": ("there is no character {character!r}; the characters are {known}", ""),
    "no such puppet": ("nobody has the puppet {puppet!r}; the puppets are {known}", ""),
    "puppet of another": ("{puppet} is no puppet of {character}", "give one of the two"),
    "no such label": ("there is no label {first} on a sheet of {size}; it has 1 to {count}", ""),
    "nothing to label": ("no board that is meant has a piece still to be filmed, so there is nothing to label", ""),
    "no board": ("no board that is meant has a piece still to be filmed, so there is none to lay out", ""),
    "no room on the label": (
        "labels of {size} have no room for {part}: {codes}",
        "it is left out there; take larger labels with --size if it is needed",
    ),
    "no such frame": ("has no frame {frame}; its frames are {first} to {last}", ""),
    "character not in shot": ("has {there} in it, not {character!r}", ""),
    "nobody in shot": ("has nobody in it, so no piece is chosen", ""),
    "is off camera": ("{names} is off camera on frame {frame}", "no piece is chosen for it"),
    "are off camera": ("{names} are off camera on frame {frame}", "no piece is chosen for it"),
    "no such mouth set": ("{mouth_set!r} is neither {own} nor one of those that ship ({ship})", ""),
    "folder in use": ("is already there and not empty", "name a new folder, nothing was changed"),
    "not the sample": ("is not the sample production", "name another folder for it, nothing was changed"),
    "file for folder": ("is a file", "give the folder of the production, such as {folder}"),
    # Of lines in their shots.
    "over before its shot": (
        "is heard up to frame {last}, before its shot begins with frame {first}",
        "let it begin later: frames are counted from {first}. It is left out of the sheet",
    ),
    "over another line": (
        "is heard from frame {first}, while {other} of the same character is heard up to frame {last}",
        "let one of them begin elsewhere. It is left out of the sheet",
    ),
    "begins before its shot": (
        "is heard from frame {begins}, before its shot's first frame, {first}; what is heard before is on no sheet",
        "let it begin later if that is not intended",
    ),
    "ends after its shot": (
        "is heard up to frame {ends}, after its shot's last frame, {last}",
        "lengthen the shot or let the line begin earlier",
    ),
    "choice passed over": ("{code} was {choice} frame {frame} by hand, but {reason}; it is passed over", ""),
    # Of lists, edits, scripts and recordings that are taken in.
    "columns not used": ("columns that are not used: {columns}", ""),
    "not in UTF-8": ("is not in UTF-8 and was read as Western European (Windows-1252)", "check accents"),
    "picture of no shot": (
        "{picture!r} names no shot and was passed over",
        "a picture is called {pattern}, see [taking] shots in production.toml",
    ),
    "clip switched off": ("is switched off and was not taken", ""),
    "recordings not named for lines": (
        "{count} recordings are not named {pattern} and were passed over: {recordings}",
        "see [taking] recordings in production.toml",
    ),
    "speeches of no scene": ("scene {scene!r} is none of the production; its speeches are passed over", ""),
    "speeches not placed": (
        "has {speeches} speeches that no line has, and there are {lines} lines without words",
        "which is which cannot be told: write them into the list",
    ),
    # Of files that are changed in place.
    "entry changed meanwhile": ("was changed meanwhile", "look at what it says now, and change it again"),
    "lines in one row": ("has its lines as lists in one row, which are not changed here", "change it with an editor"),
    "not as it was read": ("is not as it was read", "look at it with an editor"),
    "nothing said of the word": ("nothing is said of {word!r} there", "look at what the file says now"),
    "not changed here": ("is written in a way that is not changed here", "change it with an editor"),
    # Of what is taken in and given out.
    "taking touches filmed frames": (
        "{filmed} are in the can, and stay as they were filmed. {changes}. Name the shot to take this all the same "
        "(--filmed {called}), or to leave it as it is (--leave {called})",
        "",
    ),
    "leaves one of several": ("may be {known}", "name its scene"),
    "changed before taking": ("was changed meanwhile", "nothing was written: take again"),
    "nothing taken": ("{reason}; nothing was taken", ""),
    "counted before": ("counted on {counted}, but stock.toml was on {before}", "take a later count"),
    "stock written otherwise": ("is written in a way that is not changed here", "change it with an editor"),
    "no complete take": ("is said at {said}, never surely whole", "the last is taken: listen to it"),
    "several takes": ("is said {count} times, at {said}", "the last complete one is taken, at {chosen}"),
    "given without lines": ("lacks {lines}, whose recordings cannot be read", ""),
    # Of what a command is given.
    "no frames to lock": ("say which frames: --upto FRAME, --from FRAME --to FRAME, or --wore FRAME=CODE", ""),
    "no frames named": ("say which frames: --upto FRAME, or --from FRAME --to FRAME", ""),
    "frames named in two ways": ("name frames in one way: --upto FRAME, or --from FRAME with --to FRAME", ""),
    "no date": ("is no date", "write such as 2026-11-24"),
    "no character and mouth set": ("write a character and a mouth set, such as heron=tideline", ""),
    "character tried twice": ("{character} is tried in {mouth_set} already", "try one set at a time"),
    "nobody to ask": ("nothing was written: add --yes to write it, or --dry-run to look only", ""),
    # Of what is in the can.
    "record named for another": ("found {found!r}, but the file is named for {shot!r}", "mend one of them"),
    "record untrue": (
        "says that {planned} was planned on {frames}, and revision {revision} ({stamp}), which it was filmed from, "
        "asks for {asked} there",
        'write the code that was worn, then the one that was planned: "12 OPEN2, planned {asked}"',
    ),
    "shorter than filmed": (
        "found {frames}, but {filmed} of shot {shot} went into the can",
        "give it {needed} frames, or unlock what is cut: "
        "lipsync unlock {production} {called} --from {first} --to {last}",
    ),
    "filmed and gone": (
        "is in the can on {filmed}, but shot {shot} now has {there}",
        "name it in the shot again, as [shot.characters.{character}], or write its new id in this file if it was "
        "renamed",
    ),
    "on no print": (
        "{character} was on no print when {filmed} went into the can, and is taken to be off camera there",
        "if it was seen, say what it wore: lipsync lock {production} {called} --wore FRAME={character}:CODE",
    ),
    "filmed code gone": (
        "{character} wears {code} on {filmed}, a code that {mouth_set} does not have; the frames are in the can and "
        "stay as they are",
        "",
    ),
    "record of no shot": (
        "the production has no shot {shot}",
        "if it was renamed, give this file the new name, and write it in the file's first and last lines",
    ),
    "filmed does not fit": ("{character}: what is filmed does not fit the sound: {places}", ""),
    "locked": ("locked {frames}, filmed from revision {revision} ({stamp})", ""),
    "locked already": ("{frames} had been locked already; nothing changed", ""),
    "unlocked": ("unlocked {frames}", ""),
    "unlocked to refilm": ("unlocked {frames}, to refilm", ""),
    "not locked": ("{frames} had not been locked", ""),
    "wore another": ("{frames}: {character} wore {code}, planned was {planned}", ""),
    "modelled by hand": ("{frames}: {character}: {modelled}", ""),
    "print filmed from is gone": (
        "{frames}: revision {revision} ({stamp}), from which they were filmed, is not in {prints}",
        "take it back from version control: until then these rows show words and marks of the present plan",
    ),
    "was off camera": ("{frames}: {character} was off camera, planned was {planned}", ""),
    "no reason to refilm": ("is empty", "say why the take is filmed again, for whoever reads the record"),
    "nothing to unlock": ("{frames} cannot be unlocked: nothing of it is locked", ""),
    "others are locked": ("{frames} cannot be unlocked: locked are {locked}", ""),
    "frames not in shot": ("has frames {first} to {last}, and not {frames}", "name frames of the shot"),
    "frames the wrong way round": ("frames {first} to {last} end before they begin", "name the first frame first"),
    "never printed, so not filmed": (
        "was never printed, so nothing of it can have been filmed",
        "first: lipsync sheet {production} --shot {called}",
    ),
    "no such revision": ("has no revision {revision!r} of shot {shot}; it has {letters}", ""),
    "filmed beyond the print": (
        "{frames} cannot have been filmed: revision {revision} ends at {last}",
        "print it first: lipsync sheet {production} --shot {called}",
    ),
    "wore on frames not filmed": (
        "--wore names {frames}, which is neither locked nor among {asked}",
        "name frames that are filmed",
    ),
    "of which shot": (
        "its scene is gone, and several shots are called {shot}: of which one this is filmed is not known",
        "if the scene was renamed, move its folder, and that in prints/, to {folders}; if it is cut, take the folder "
        "away",
    ),
    "two records of one shot": ("shot {shot} has another record, {other}", "keep the one that is true"),
    # Of what is printed.
    "never printed": ("shot {shot} was never printed", "first: lipsync sheet {production} --shot {called}"),
    "not planned now": ("shot {shot} is not planned now, for the reasons given", ""),
    "no such state": (
        "shot {shot} has no revision {state!r}; it has {letters}, and `{now}` for the present state",
        "",
    ),
    "changed meanwhile": (
        "was planned while another program or person changed {files}; nothing is printed of it",
        "run it again: lipsync sheet {production} --shot {called}",
    ),
    "changed before locking": (
        "nothing is recorded, since {files} changed while it was read",
        "run it again",
    ),
    "scene not whole": ("is not printed, since it would lack {shots}", ""),
    "scene not whole, older there": ("is not printed, since it would lack {shots}, and what is there is older", ""),
    "newer printed": ("is not printed, since another program has printed newer sheets meanwhile", "print it again"),
    "no such stamp": (
        "no print of this production has the stamp {stamp!r}",
        "read it again from the page's foot",
    ),
    "no such stamp, like others": (
        "no print of this production has the stamp {stamp!r}",
        "read it again from the page's foot; the nearest are {like}",
    ),
    # Of a production that is checked: what is allowed, and perhaps not meant.
    "mouth set of nobody": ("no character wears it", "name it under a character, or take the file away"),
    "picture of no piece": ("no piece of a mouth set names this picture", "name it, or take the file away"),
    "breakdowns of no scene": (
        "holds breakdowns of {count} lines, perhaps corrected by hand, and no scene has this name",
        "if the scene was renamed, move them into the folder of its new name, over those that are there; "
        "else take the folder away",
    ),
    "breakdown of no line": (
        "no line of this scene has this name",
        "if the line was renamed or moved, rename or move this file as well; else take it away",
    ),
    "prints of no shot": (
        "the production has no such shot",
        "if it was renamed, give this file the new name; else leave it for the pages that are on paper",
    ),
    "recording of no line": ("no line is in this recording", "write the line into its shot, or take the file away"),
    "not heard yet": (
        "has not been listened to since its last change: what is heard in it was not checked",
        "run lipsync breakdown {production}",
    ),
    "choice on a filmed frame": (
        "{code} {choice} frame {frame}, which is in the can with {worn}; it stays as it was filmed",
        "take the choice out of pieces in {file}, or film the frame again",
    ),
    "voice has changed": (
        "a line that {character}'s voice was found from has changed, so the voice is to be found again, and what was "
        "heard of it was not checked",
        "run lipsync breakdown {production}",
    ),
    "shot without lines": ("has no line", "write who speaks in it under [[shot.line]], if anybody does"),
    "words in doubt": ("doubtful words: {words}", "listen to them, and mark the line as checked"),
    "words guessed": (
        "words whose pronunciation is guessed from their letters: {words}",
        "write how they are said under [pronunciations] in production.toml",
    ),
    "print no longer good": (
        "its newest print, revision {revision} ({stamp}), is no longer good",
        "print it: lipsync sheet {production} --shot {called}",
    ),
    "piece for nothing": (
        "no phoneme and no cue has its shape, {shape!r}, and it is no rest: it will never be worn",
        "name the shape under [phonemes], or take the piece out",
    ),
    "closed sound on open lips": (
        "the lips close for this sound, and those of {code} stay open by {opening}",
        "give it a shape with an opening of {most} at most",
    ),
    "lip not at the teeth": (
        "the lower lip meets the upper teeth in this sound, and {code} shows teeth of {teeth} and opens by {opening}",
        "give it a shape with teeth of {least} or more and an opening of {most} at most",
    ),
    "sizes not in order": (
        "{larger} is the larger size and opens less than {smaller}",
        "give the sizes in the order of their opening",
    ),
    "code like a number": (
        "spreadsheets that open a table as text take {code} for a date or a number",
        "give it a code with a letter of its own, or open the workbook, where it stays text",
    ),
    "sizes with gaps": ("has the sizes {sizes}", "count them from 1 without a gap"),
    "pieces alike": ("{one} and {other} can hardly be told apart", "make one of them otherwise, or do without it"),
    "one picture for two": ("{one} and {other} have one picture, {picture}", "give each its own"),
    # Of movies.
    "no movie library": (
        "PyAV is not installed, which writes movies",
        'install it with: pip install "av>=16,<19"',
    ),
    # Of orders, curves and trials.
    "no shooting plan": (
        "no [[shooting.shoot]] says which puppet shoots which scene on which days; the order is reckoned as if each "
        "puppet shot every scene, all on the same days",
        "",
    ),
    "in no shot of the scene": ("{character} is in no shot of {scene}", ""),
    "filmed is counted": (
        "the order counts the {frames} frames that are in the can like the others",
        "to order only for what is to come, write in stock.toml what there is",
    ),
    "late": (
        "the days of {puppet} for shot {shot} of {scene} are over, and it is not filmed",
        "give it days; until then it is reckoned as shot on the day after the stock was counted",
    ),
    "not counted again": (
        "not counted again: {pieces}; how often these were put on since {was} is in no number",
        "count them too, or write under fitted what they wore",
    ),
    "worn out": (
        "{pieces}: counted as there, and put on so often that they are used up; they are not reckoned with",
        "if they still serve, write fewer under fitted",
    ),
    "spares worn": (
        "spares that are more than half used up, with the fittings left: {pieces}",
        "if that is too little for a spare, write it under broke in stock.toml, and another is made",
    ),
    "reckoned on the way": (
        "{pieces}: reckoned as on the way, for that many more were ordered than are counted as there or broken",
        "if they are not, write what broke or was used up, or how many are ordered; else too few are made",
    ),
    "needed sooner": (
        "{code} of {character} is on the way for {was} and needed by {now}",
        "tell who makes it, or move the scene",
    ),
    "no figure of making": (
        "{figures} is not given for {pieces}, which are not in the sums",
        "give it for their material, or under [[making.piece]]",
    ),
    "perhaps one too many": (
        "{code} of {character}: enough, and perhaps more than needed; the search for the fewest was ended soon",
        "take fewest = false out of [shooting], to search to the end",
    ),
    "printings wait": ("{waiting} printings wait already", "let them end, or stop some"),
    "printed file gone": ("cannot be read any more ({reason})", "print it again"),
    "ordered meanwhile": ("another program has ordered meanwhile; nothing was written", "run it again"),
    "not to be shot": ("no puppet of {character} is to shoot shot {shot} of {scene}; nothing is made for it", ""),
    "settings of several": ("mouth sets have {settings}; {character}'s is taken for all", ""),
    "nobody to weigh": ("has nobody in its shots, so there is nothing to weigh", ""),
    "nobody to try": ("has nobody in its shots, so there is nothing to try", ""),
    "says nothing": ("says nothing in any shot, so no piece is worth more than another", ""),
    "nothing to try": (
        "say what to try: --mouth-set CHARACTER=NAME, or --fitting FILE with a [fitting] table, or both",
        "",
    ),
    "cue without shape": (
        "has no shape for [{cue}], which {character} does in this scene",
        "add it under its [cues]",
    ),
    "settings of its own": ("the mouth set {mouth_set} has settings of its own, which overrule these", ""),
    # Of what a person asks for at the desk, and cannot be done.
    "no such part": ("there are {count} parts, counted from 0", "open the line again"),
    "no such boundary": ("has {count} boundaries, counted from 0", "open the line again"),
    "no such phoneme": ("has {count} phonemes, counted from 0", "open the line again"),
    "no room for a boundary": (
        "a boundary cannot go to {to} s",
        "there is room from {earliest} s to {latest} s",
    ),
    "no room for a part": (
        "cannot last from {start} s to {end} s",
        "there is room from {earliest} s to {latest} s",
    ),
    "too short for phonemes": ("{lasts} s are too short for its phonemes", ""),
    "cue without phonemes": ("{cue} is a cue, and has no phonemes", ""),
    "phoneme not divided there": ("{symbol} lasts from {start} s to {end} s", "divide it there"),
    "only phoneme": ("has one phoneme only", "take the word out instead"),
    "word not split there": ("a word is split before one of its phonemes, not before the first", ""),
    "no word to join": ("is the last word; there is none to join it with", ""),
    "pause between words": ("a pause of {pause} s follows, and a word holds no silence", "move it first"),
    "cue that is not there": ("is no cue of the character's mouth set; it has {known}", ""),
    "cue not in the recording": ("must begin before it ends, and end by {end} s, when the recording does", ""),
    "cue over another part": (
        '"{part}" is heard there, from {start} s to {end} s',
        "choose a gap, or make one",
    ),
    "time too short": ("must begin before it ends, and last {least:g} s at least", ""),
    "time not in the recording": ("must end by {end} s, when the recording does", ""),
    "not one word": ("is more than one word, or none", ""),
    "cue among words": ("holds a cue", "add cues by themselves"),
    "no word typed": ("holds no word", "to have none there, take the word out"),
    "or say how it is spoken": ("{reason}", "or say how it is spoken, in ARPAbet, one word at a time"),
    "word over another part": (
        '"{part}" is heard there',
        "choose that word and add this one before or after it, or go to a gap",
    ),
    "after the recording": ("would lie after the end of the recording", ""),
    "not found there": ("{reason}", "nothing was changed. Place it by hand instead, or move its boundaries"),
    "not there: too fast": ("has more sounds than anyone could say in the time there", ""),
    "not there: stopped": ("took too long to look for", ""),
    "not there: not heard": ("is not heard there", ""),
    "no newer waits": ("no newer computation waits; there is nothing to take", ""),
    "no voice without text": ("no voice without text is heard from {start} s to {end} s", ""),
    "heard on filmed frames": (
        "the frames from {start} s to {end} s of the line are filmed; what is heard there stays as it is",
        "",
    ),
    "chosen on filmed frames": (
        "a frame is filmed, and stays as it is",
        "refilm it before it is planned anew",
    ),
    "frame after the shot": ("the shot has {frames} frames; this one lies after its end", ""),
    "only piece left": ("{code} is the only piece that is left for this frame", "leave it one"),
    "piece that is not there": ("{code!r} is no piece of the mouth set; it has {known}", ""),
    "choice not wearable": ("{reason}", "take that choice back"),
    "listen first": ("the line has not been listened to yet", "listen first"),
    "nothing to undo": ("there is nothing to undo", ""),
    "nothing to redo": ("there is nothing to redo", ""),
    "state lost": ("does not hold that state any more; it was not changed", ""),
    "not heard": ("was not written", "look at the messages"),
    "not sound": ("cannot be read as sound ({reason})", ""),
    "address not usable": ("{address!r} cannot be used ({reason})", "name one of this machine's"),
    "ports in use": ("ports {first} to {last} are all in use", "name another"),
    # Why a frame wears its piece; `rest`, `saved` and `would` are other kinds of this part.
    "worn: filmed": ("{code} is filmed on this frame, and stays.", ""),
    "worn: pinned": ("{code} was pinned to this frame by hand.", ""),
    "worn: others kept off": ("All other pieces were kept off this frame by hand, so {code} is worn.", ""),
    "worn: one pose": ("The other frame of this pair is filmed with {code}, and the two are one pose.", ""),
    "worn: at rest": ("Nothing is said, so the mouth rests on {code}.", ""),
    "worn: lips closed": ("{sound} keeps the lips closed on this frame; {would}", ""),
    "worn: not at the teeth": ("The lip is under the teeth for F and V only; {would}", ""),
    "worn: lips not closed": ("Lips are not closed while other sounds are heard; {would}", ""),
    "worn: must be seen": ("{sounds} must be seen; {would}", ""),
    "worn: not to be missed": ("{sounds} should not be missed; {would}", ""),
    "worn: else": ("but for that, {code} would be worn here.", ""),
    "worn: nearest": ("{code} is nearest to what the lips do; {rest}", ""),
    "worn: nearest not allowed": (
        "{nearest} would be nearer to what the lips do, but may not be worn here; {rest}",
        "",
    ),
    "worn: saved": ("{nearest} would be nearer to what the lips do, but {saved}.", ""),
    "worn: saved, next best": ("{nearest} would be nearer to what the lips do, but {saved}; {rest}", ""),
    "worn: held on": (
        "putting it on for this frame would cost the shot {more:.2f} more than holding {code}",
        "",
    ),
    "worn: costs less": ("with it the shot would cost {more:.2f} more", ""),
    "worn: next best": ("the next best, {code}, would cost the shot {more:.2f} more.", ""),
    # What the lips do on a frame, and for which sounds.
    "lips: here": ("The lips are {opening:.2f} open and {width:.2f} wide here{sounds}.", ""),
    "lips: for": ("for {sounds}", ""),
    "lips: coming from": ("coming from {sounds}", ""),
    "lips: on the way to": ("on the way to {sounds}", ""),
    "sound of a word": ("{symbol} of {word!r}", ""),
    "a sound": ("A sound", ""),
    "rest": ("rest", ""),
    "and": (" and ", ""),
}


def worded(kind: str, facts: Mapping[str, object]) -> tuple[str, str]:
    """Return what is so and what to do, the facts filled in; `production`, a folder in commands, is quoted for them.

    Raises:
        KeyError: if there is no such kind, or a fact that its sentences name is missing.

    >>> worded("ends after its shot", {"ends": 50, "last": 48})[0]
    "is heard up to frame 50, after its shot's last frame, 48"
    """
    what, remedy = SENTENCES[kind]
    facts = {name: shlex.quote(str(fact)) if name == "production" else fact for name, fact in facts.items()}
    return what.format(**facts), remedy.format(**facts)


def phrase(kind: str, **facts: object) -> str:
    """Return a kind that is a part of another sentence, the facts filled in.

    >>> phrase("word gone", before="keeper.")
    '"keeper." is gone'
    """
    return worded(kind, facts)[0]
