"""The words of messages: for each kind what is so, and what to do about it. Another language is another such table.

In: a kind and the facts that its sentences name. Out: two sentences, the second empty where nothing need be done. A
message (message.py) is told apart by its kind, its scene, shot and line, never by its words.
"""

from __future__ import annotations

from collections.abc import Mapping

# Kind -> what is so, and what to do.
SENTENCES: Mapping[str, tuple[str, str]] = {
    # Of what is heard.
    "no line yet": ("no shot has a line yet", "write each into its shot, under [[shot.line]]"),
    "pronunciation of no line": ("{word!r} is in no line", "write it as the lines do, or take it out"),
    "mostly doubtful": (
        "{doubtful} of its {words} words are doubtful",
        "check that its text is what this recording says",
    ),
    "no such cue": ("[{cue}] is no cue of the character's mouth set; it has {known}", ""),
    "newer waits": (
        "what stands is from an older text or recording, and a newer computation waits",
        "take it with lipsync breakdown {production} --take-new {line}",
    ),
    "disagreement": ("{text}", ""),
    "all doubtful": ("all of it is doubtful: {why}", "{remedy}"),
    "voice without text": (
        "voice without text from {start} s to {end} s",
        "listen to it: write what is said there into the text, or mark the line as checked",
    ),
    # Why a line's sound and text do not match, each kind of `model.Rejection`.
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
    "rejection: not read": ("its text cannot be read aloud", "write it otherwise, or place its words by hand"),
    # Of anything that is done for one of many.
    "own fault": (
        "was not done, by a fault of the program's own: {fault}",
        "please report this sentence, with what it was done for. Everything else goes on",
    ),
    "worker died": (
        "was not done: the process that worked on it ended twice before it was through",
        "see that the machine has memory to spare, or give fewer --jobs, and run this again",
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
    # Of what is kept of a line when it is computed again.
    "stands": (
        "{why}; the {state} breakdown stands, and the new computation waits beside it; when it is taken, corrections "
        "of unchanged words move along",
        "",
    ),
    "edited by hand": ("rows under [computed] were edited by hand; they now stand under [[corrected]]: {parts}", ""),
    "edited without effect": ("rows under [computed] were edited by hand; nothing that is heard differs", ""),
    "edits dropped": ("rows edited by hand under [computed] were of the old recording and are dropped", ""),
    "nothing newer": ("there is no newer computation to take", ""),
    "newer taken": ("the newer computation is taken", "listen to the line again and mark it as checked"),
    "corrections moved": ("corrections moved along: {parts}", ""),
    "corrections moved by guess": (
        "corrections moved along: {parts}; their times are guesses on the new recording",
        "",
    ),
    "correction dropped": ('the correction of "{part}" is dropped: {reason}{note}', ""),
    "pieces to check": (
        "{why}the pieces chosen by hand stay as they are",
        "look at them again (frames {frames}, counted from 0)",
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
        "let it begin later, if that is not meant",
    ),
    "ends after its shot": (
        "is heard up to frame {ends}, after its shot's last frame, {last}",
        "lengthen the shot or let the line begin earlier",
    ),
    "choice passed over": ("{code} was {choice} frame {frame} by hand, but {reason}; it is passed over", ""),
    # Of what is in the can.
    "record named for another": ("found {found!r}, but the file is named for {shot!r}", "mend one of them"),
    "record untrue": (
        "says that {planned} was planned on {frames}, and revision {revision} ({stamp}), which it was filmed from, "
        "asks for {asked} there",
        'write what was planned, and what was worn before it: "12 OPEN2, planned {asked}"',
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
        "stay so",
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
        "{frames}: revision {revision} ({stamp}), which was filmed from, is not in {prints}",
        "take it back from version control: until then these rows show words and marks of the present plan",
    ),
    "was off camera": ("{frames}: {character} was off camera, planned was {planned}", ""),
    # Of what is printed.
    "changed meanwhile": (
        "was planned while another program or person changed {files}; nothing is printed of it",
        "run it again: lipsync sheet {production} --shot {shot}",
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
        "has not been listened to as it is now: nothing was checked of what is heard in it",
        "lipsync breakdown {production}",
    ),
    "shot without lines": ("has no line", "write who speaks in it under [[shot.line]], if anybody does"),
    "words in doubt": ("in doubt are {words}", "listen to them, and mark the line as checked"),
    "words guessed": (
        "guessed from their letters are {words}",
        "write how they are said under [pronunciations] in production.toml",
    ),
    "print no longer good": (
        "its newest print, revision {revision} ({stamp}), is no longer good",
        "print it: lipsync sheet {production} --shot {shot}",
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
    "reckoned on the way": (
        "{pieces}: reckoned as on the way, for that many more were ordered than are counted as there or broken",
        "if they are not, write what broke or was used up, or how many are ordered; else too few are made",
    ),
    "perhaps one too many": (
        "of {code} of {character} enough are ordered, and perhaps more than must be: its fittings may fall in so "
        "many ways into the rows of the plan that not all were tried",
        "",
    ),
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
    "settings of its own": ("the mouth set {mouth_set} has settings of its own, which stand before these", ""),
}


def worded(kind: str, facts: Mapping[str, object]) -> tuple[str, str]:
    """Return what is so and what to do, in words.

    >>> worded("ends after its shot", {"ends": 50, "last": 48})[0]
    "is heard up to frame 50, after its shot's last frame, 48"
    """
    what, remedy = SENTENCES[kind]
    return what.format(**facts), remedy.format(**facts)
