"""Every word that the program prints on paper: one table, which a studio can translate.

The table `[sheet.words]` of `production.toml` replaces any of them, under the names used here. Names in braces are
filled in by the program; a translation has the same ones, in any order.
"""

from __future__ import annotations

from string import Formatter
from typing import Annotated

from pydantic import StringConstraints, ValidationInfo, field_validator

from lipsync.tomlfile import Table

Label = Annotated[str, StringConstraints(min_length=1, max_length=80)]
Sentence = Annotated[str, StringConstraints(min_length=1, max_length=300)]


def _filled_in(text: str) -> set[str]:
    """Return the names in braces of a message.

    Raises:
        ValueError: if a brace is not closed.
    """
    return {name for _, name, _, _ in Formatter().parse(text) if name is not None}


class Words(Table):
    """The words on paper, in the language of the studio."""

    # What columns are called; each is printed above its column.
    frame: Label = "frame"
    feet: Label = "feet"
    timecode: Label = "timecode"
    word: Label = "word"
    phoneme: Label = "phoneme"
    piece: Label = "piece to fit"
    brows: Label = "brows"
    eyes: Label = "eyes"
    hands: Label = "hands"
    action: Label = "action"
    camera: Label = "camera"
    notes: Label = "notes"
    filmed: Label = "filmed"
    # The heading of an exposure sheet.
    shot: Label = "shot {shot}"
    page: Label = "page {page} of {pages}"
    frames: Label = "frames {first} to {last}"
    rate: Label = "{rate} frames a second"
    dated: Label = "dated {date}"
    revision: Label = "revision {letter}"
    part: Label = "{page}, part {part} of {parts}"
    page_as_before: Label = "this page as in {letter}"
    page_differs: Label = "not as in {letter}"
    # Its rows.
    off_camera: Label = "off camera"
    pause: Label = "(pause)"
    untold: Label = "(no text)"
    toward: Label = "toward {code}"
    over: Label = "over {frames}"
    keep_alive: Label = "keep alive"
    end: Label = "end of shot {shot}, {frames} frames"
    # Its foot.
    stamp: Label = "stamp"
    doubtful: Label = "doubtful: ask before filming"
    not_seen: Label = "not seen"
    misfit: Label = "filmed, and does not fit the sound"
    beat: Label = "strong beat: head and brows may move"
    beat_brief: Label = "strong beat"
    changed: Label = "changed since revision {letter}"
    changed_all: Label = "new throughout since revision {letter}, so no bars in the margin"
    in_the_can: Label = "in the can: final"
    in_the_can_brief: Label = "in the can"
    modelled: Label = "dotted: model the clay toward the next piece, over so many frames"
    modelled_brief: Label = "dotted: model toward the next piece"
    tick: Label = "tick each frame when it is filmed"
    voice: Label = "the voice, as wide as it is loud"
    stressed: Label = "a phoneme in bold: a stressed vowel"
    alive: Label = "wave: keep a long hold alive, move it a little by hand"
    alive_brief: Label = "wave: keep alive"
    on_already: Label = "grey code: the piece is on already"
    left_out: Label = "left out here: {columns}"
    other_page: Sentence = "{asked} is too small for this shot, so it is on {page}"
    columns_need: Label = "its columns need {needed} mm, the page has {has}"
    page_lies: Label = "{page} {orientation}"
    page_form: Label = "{page} {orientation}, {form} form"
    portrait: Label = "portrait"
    landscape: Label = "landscape"
    modelling: Label = "modelling"
    parts: Label = "parts"
    part_at: Label = "{name} {code} (frames {first} to {last})"
    no_row_for: Label = "{note} (frame {frame})"
    doubt_at: Label = "{word} (frame {frame})"
    lost_at: Label = "{phoneme} in {word} (frame {frame})"
    lost_why: Label = "{lost}: {reason}"
    misfit_at: Label = "frame {frame}"
    misfit_why: Label = "{at} ({what})"
    more: Label = "{count} more on the last page"
    list_title: Label = "Doubtful: ask before filming; and what is not seen"
    # The mouth chart.
    chart: Label = "mouth chart"
    at_rest: Label = "when nothing is said"
    chart_pieces: Label = "{count} pieces"
    # How pieces are measured.
    measuring: Label = "measuring the pieces"
    measure_rest: Label = "rest"
    measure_gap: Label = "gap"
    measure_across: Label = "across"
    measure_out: Label = "out"
    measure_teeth: Label = "teeth"
    measure_tongue: Label = "tongue"
    measure_rest_how: Sentence = (
        "The piece worn at rest, from corner to corner. Every other length is divided by this one."
    )
    measure_gap_how: Sentence = (
        "Between the inner edges of the lips, in the middle. opening = gap ÷ {one}; lips that touch are 0, and a lip "
        "that is tucked under the teeth is measured to where it goes under."
    )
    measure_across_how: Sentence = (
        "From corner to corner. width = {slope} × across ÷ (1 − {drawn_in} × rounding) − {offset}; measure rounding "
        "first."
    )
    measure_out_how: Sentence = (
        "From the side, how far the lips stand in front of the flattest ones of the set: lay both on their backs, "
        "and measure each from the table up. rounding = out ÷ {one}"
    )
    measure_teeth_how: Sentence = (
        "What is seen of the upper teeth in the middle, from the lip down, over the lower lip too. teeth = this ÷ "
        "{one}; 0.85 or more where both rows are bared."
    )
    measure_tongue_how: Sentence = (
        "From the inner edge of the lower lip up to the top of the tongue. tongue = this ÷ ({one} × gap)"
    )
    measure_all: Sentence = (
        "What comes to less than 0 is 0, to more than 1 is 1. Pieces are compared by these numbers: measure all of a "
        "set in the same way, one beside the other, and write them under lips."
    )
    measure_list: Label = "What the numbers of each piece come to"
    measure_in_mm: Sentence = "Lengths are in mm, for a mouth at rest of {mm} mm."
    measure_in_rests: Sentence = "Lengths are in widths of the mouth at rest (1.00)."
    opening: Label = "opening"
    width: Label = "width"
    rounding: Label = "rounding"
    caution_measure: Sentence = (
        "Points of callipers sink into soft clay and scratch it, and prick: let warm clay cool, close them only "
        "until they touch, or measure a cast; keep them shut when they lie."
    )
    # The count.
    count: Label = "piece count"
    code: Label = "code"
    name: Label = "name"
    frames_seen: Label = "frames seen"
    times_fitted: Label = "times fitted"
    scenes: Label = "scenes"
    pieces_needed: Label = "pieces needed"
    count_planned: Sentence = (
        "Pieces needed: as many as the shooting plan takes over the whole film, filmed or not, with spares and what "
        "is used up; the order says what is still to be made."
    )
    count_unplanned: Sentence = "Pieces needed: one of each for each puppet, since there is no shooting plan."
    lines_missing: Sentence = "do not work from this yet: {lines} could not be done, and is missing here"
    lines_rejected: Sentence = "ask before filming: sound and text of {lines} do not match; all of it is doubtful"
    voice_without_text: Sentence = "ask before filming: voice without text is heard on {frames}"
    shot_left_out: Sentence = "not in this at all: it could not be planned, as was told on the screen"
    lines_old: Sentence = "ask first: a newer text or recording of {lines} waits, and what stands here is the old one"
    read_first: Label = "read first"
    more_told: Label = "and {count} more: all are on the last page"
    before_use: Label = "Before this is used"
    total: Label = "total"
    puppets: Label = "puppets: {count}"
    # The order for the workshop.
    order: Label = "order for the workshop"
    boards: Label = "boards"
    at_once: Label = "at once"
    used_up: Label = "used up"
    changing_over: Label = "changing over"
    spares: Label = "spares"
    pressings: Label = "needed"
    there: Label = "there"
    on_the_way: Label = "on the way"
    to_make: Label = "to make"
    unneeded: Label = "needed no more"
    needed_by: Label = "first day"
    make_by: Label = "To make by {day}"
    make_count: Label = "{code}: {count}"
    make_none: Sentence = "Nothing is to be made in addition."
    ordered_now: Label = "what would be ordered now"
    not_ordered: Label = "only looked at, not ordered"
    hand_overs: Label = "hand-overs"
    hand_over: Label = "{day}: {giver} hands to {taker}"
    giver: Label = "from"
    taker: Label = "to"
    by_day: Label = "by day"
    no_hand_overs: Sentence = "Nobody hands a piece on."
    own_mouths: Sentence = "No piece is handed on: each head has mouths of its own."
    stock_counted: Sentence = "There and on the way as counted on {day}; what is filmed wears nothing more."
    safety: Sentence = (
        "Before you cast, cut or sand: the maker's safety data sheets and your local rules come first; resin, "
        "silicone, dust, heat and blades harm. Trained people show how; the last page says more."
    )
    order_piece: Sentence = "{piece}: {changes}"
    order_needed: Label = "{now} needed, were {was}"
    order_had: Label = "{now} there or on the way, were {was}"
    order_make: Label = "{count} to make in addition"
    order_unneeded: Label = "{count} needed no more"
    order_sooner: Sentence = "{piece} is on the way for {was} and needed by {now}: tell who makes it"
    order_late: Sentence = "{puppet}: days over, not filmed, reckoned as shot the day after the count: {shots}"
    order_assumed: Sentence = "reckoned as on the way, though the count does not say so: {pieces}"
    order_worn_spares: Sentence = "spares more than half used up, with the fittings left: {pieces}"
    order_not_fewest: Sentence = "{piece}: enough, perhaps more than needed; the search for the fewest was ended soon"
    order_handed: Label = "hand-overs are others: see the list"
    order_missing: Sentence = "before you use this: {now}"
    order_no_missing: Sentence = "no longer so: {was}"
    made: Label = "made"
    character: Label = "character"
    puppet: Label = "puppet"
    plan: Label = "shooting plan"
    first_day: Label = "first day"
    last_day: Label = "last day"
    shoots: Label = "{puppet} shoots {scene} from {first} to {last}"
    shots: Label = "shots {shots}"
    no_plan: Sentence = "No shooting plan: reckoned as if each puppet shot every scene, all on the same days."
    unplanned: Sentence = "In no row of the shooting plan, so nothing is made for it: {shots}"
    not_made: Sentence = "Worn in no planned shot, so not made: {codes}"
    clay_wears: Sentence = "Clay: each pressing is used up after {fittings} fittings, and another follows on."
    clay_wears_otherwise: Sentence = "{codes}: used up after {fittings} fittings."
    hard_stays: Sentence = "Hard: each is a part, made once and not used up."
    hard_parts: Sentence = "Hard, made once and not used up: {codes}"
    clay_parts: Sentence = "Clay, used up and followed by another: {codes}"
    worn_out: Sentence = "Counted as there and used up, so not reckoned with: {pieces}"
    on_board: Label = "{puppet}: {count} pieces on its board"
    making: Label = "what it takes to make"
    making_how: Sentence = (
        "From the studio's own figures. A week is a calendar week (ISO 8601): that in which a pressing is first on a "
        "board, so make it before. A mould is one for each piece, and another whenever one is worn out; of a batch, "
        "pieces of one kind fill oven or tray together."
    )
    week: Label = "week"
    from_day: Label = "from"
    hours: Label = "hours"
    moulds: Label = "moulds"
    batches: Label = "batches"
    price_in: Label = "price, {currency}"
    figure_missing: Sentence = "Not in the sums of {figure}, since no figure is given: {pieces}"
    making_looks: Label = "making against looks"
    making_looks_how: Sentence = (
        "What each set would take, all of it still to be made, by the studio's own figures and the shooting plan, "
        "spares included. The number beside a point is that of its pieces: further left is less to make, further "
        "down looks better."
    )
    to_make_by: Label = "to make, by {group}"
    scene: Label = "scene"
    no_week: Label = "no days planned"
    cautions: Label = "Before you cast, cut and fit"
    caution_sheets: Sentence = (
        "Resin, silicone, their hardeners, release agents and solvents: read the maker's safety data sheet first. "
        "It and your local rules come before anything on this page."
    )
    caution_air: Sentence = (
        "Work with the ventilation, gloves, eye protection and mask that the sheet asks for, away from food and "
        "flames; let trained people mix, cast and show you."
    )
    caution_dust: Sentence = (
        "Resin grows hot as it hardens. Its dust harms the lungs: wait until it is fully hard, sand it wet or at an "
        "extractor."
    )
    caution_blades: Sentence = (
        "Blades: sharp ones, on a board, cutting away from your hands, guarded when laid down; used ones go into a "
        "closed tin."
    )
    # Labels, and boards to lay pieces out on.
    labels: Label = "labels"
    board_of: Label = "board of {puppet}"
    board_count: Label = "{count} ×"
    board_put_on: Label = "times fitted: {times}"
    board_at_size: Sentence = "At size: the mouth at rest is {mm} mm wide from corner to corner."
    board_not_at_size: Sentence = (
        "Not at size: how wide the mouth at rest is stands nowhere (mouth_mm); all are drawn to one scale."
    )
    # What less work would cost.
    weigh: Label = "fittings against looks"
    weigh_how: Sentence = (
        "Each point is the best that can be done at one price of a fitting, the number beside it: further left is "
        "less work on set, further down looks better. The black point is the present setting."
    )
    scene_lasts: Label = "{frames} frames, {seconds} s"
    no_choice: Sentence = "Every price comes to the same: nothing of this scene is left to choose."
    fittings: Label = "fittings"
    fittings_a_second: Label = "fittings a second"
    price: Label = "price of a fitting"
    visual: Label = "visual cost"
    other_cost: Label = "other cost"
    days: Label = "days of animation"
    present: Label = "present setting"
    visual_unit: Sentence = (
        "Visual cost: 1 is one frame on which the mouth is as wrong as closed lips are for a wide-open vowel. Other "
        "cost, in the same unit: leaps, holds too short or too long, closures off their sound, stressed vowels "
        "not seen."
    )
    days_how: Sentence = (
        "Days are an estimate: {seconds} s of film a day at the present setting, {minutes} minutes a fitting, "
        "{hours} hours a day."
    )
    # Which pieces are worth making.
    worth: Label = "pieces worth making"
    worth_how: Sentence = (
        "For each number of pieces the set that loses least over all that the character says. Lips closed and lip "
        "to teeth, where they are said, and the mouth at rest keep their pieces in any case."
    )
    pieces: Label = "pieces"
    loss: Label = "loss"
    never_worn: Sentence = "{code} is in the set of {sets} pieces, but no real track wears it there."
    next_brings: Label = "the next brings"
    which_pieces: Label = "which pieces"
    sets: Label = "Which pieces each set has"
    real_tracks: Label = "visual cost of the tracks"
    loss_unit: Sentence = (
        "Loss: visual cost when each sound is served by the nearest piece kept, fittings not counted; 1 is one frame "
        "on which the mouth is as wrong as closed lips are for a wide-open vowel. Visual cost, fittings, sounds not "
        "seen: of the tracks with these pieces only, nothing filmed."
    )
    own_measure: Sentence = (
        "Costs are measured by the lips that a mouth set asks for itself: they compare what is done with one set, "
        "not one set with another."
    )
    own_settings: Sentence = (
        "mouth sets have prices or minutes of a fitting of their own; the present setting shown is that of "
        "{character}"
    )
    nothing_lost: Sentence = "From {count} pieces on nothing is lost."
    # Another mouth set or other settings on a scene, beside the present ones.
    side_by_side: Label = "side by side"
    side_how: Sentence = (
        "Each frame of the scene fitted twice, as the production stands and as tried. A mouth set is near to what it "
        "asks for itself, however few pieces it has: so where sets are tried, visual cost is measured by both."
    )
    tried_set: Label = "{character} in {mouth_set}"
    tried_settings: Label = "settings of {file}"
    as_it_is: Label = "present"
    as_tried: Label = "tried"
    difference: Label = "difference"
    lost_sounds: Label = "sounds not seen"
    needed_for: Label = "pieces needed, {character}"
    on_camera: Label = "frames on camera"
    differing: Label = "frames that differ"
    visual_present: Label = "visual cost, by the present sets"
    visual_tried: Label = "visual cost, by those tried"
    with_fittings: Label = "cost with fittings"
    mean_distance: Label = "mean distance of the mouths"
    where_differing: Label = "Where another mouth is worn"
    strip_signs: Label = "black: another mouth · white: the same · grey: off camera"
    instead: Label = "What is worn instead, on most frames first"
    and_more: Label = "and {count} more, in the table"
    side_unit: Sentence = (
        "1 of visual cost is one frame on which the mouth is as wrong as closed lips are for a wide-open vowel. Cost "
        "with fittings: visual cost by the present sets, and each fitting at its present price. "
        "Distance: 0 for the same mouth, about 1 from closed lips to a mouth wide open."
    )
    # What changed from one revision to the next: a page of its own, and `lipsync compare`.
    changes: Label = "What changed from revision {before} to {after}"
    changes_page: Label = "changes {page} of {pages}"
    at_frame: Label = "frame {frame}"
    one_frame: Label = "1 frame"
    some_frames: Label = "{count} frames"
    to: Label = "{least} to {most}"
    change_nothing: Label = "none"
    change_title: Label = "the title is {now}, was {was}"
    change_rate: Label = "{now} frames a second, was {was}"
    change_film: Label = "feet of {now} film, were of {was}"
    change_numbers: Label = "frames are numbered from {now}, were from {was}"
    change_timecode: Label = "timecode begins at {now}, began at {was}"
    change_length: Label = "the shot has {now} frames, had {was}"
    change_alert: Label = "before you film: {now}"
    change_no_alert: Label = "no longer so: {was}"
    change_order: Label = "the columns are {now}, were {was}"
    change_name: Label = "is called {now}, was {was}"
    change_came: Label = "is new on this sheet"
    change_went: Label = "is no longer on this sheet"
    change_later: Label = "“{now}” moved {by} later; was at {was}"
    change_earlier: Label = "“{now}” moved {by} earlier; was at {was}"
    change_words: Label = "new words “{now}”, were “{was}”"
    change_added: Label = "new words “{now}”"
    change_gone: Label = "words gone: “{was}”"
    change_pause: Label = "a pause"
    change_no_pause: Label = "no pause any more"
    change_lasts: Label = "“{now}” is heard up to frame {last}, was up to {was_last}"
    change_doubt: Label = "“{now}” is doubtful: ask before filming"
    change_no_doubt: Label = "“{now}” is no longer doubtful"
    change_piece: Label = "new piece {now}, was {was}"
    change_off_camera: Label = "off camera, was {was}"
    change_put_on: Label = "{now} is put on here, was on already"
    change_held: Label = "{now} is on already, was put on here"
    change_phonemes: Label = "phonemes {now}, were {was}"
    change_retimed: Label = "{now} on other frames"
    change_shown: Label = "the piece is there for {now}, was for {was}"
    change_lost: Label = "{now} is not seen"
    change_seen: Label = "{now} is seen again"
    change_beat: Label = "a strong beat"
    change_no_beat: Label = "no strong beat any more"
    change_part: Label = "parts: {now}, were {was}"
    change_note: Label = "modelling: {now}, was {was}"
    # The state of a production, and how far a shot is.
    overview: Label = "state of the production"
    overview_sums: Sentence = (
        "{lines} lines: {heard} heard, {doubtful} doubtful, {checked} checked. {done} s of film done, {to_do} s to do"
    )
    overview_not_done: Label = "lines not done: {count}"
    stage_to_do: Label = "to do"
    stage_doubtful: Label = "doubtful"
    stage_heard: Label = "heard"
    stage_checked: Label = "checked"
    stage_printed: Label = "printed"
    stage_filmed: Label = "filmed"
    # A packet: what goes to the set with a shot, or a scene, in one file.
    packet: Label = "packet of shot {shot}"
    packet_page: Label = "packet {page} of {pages}"
    board: Label = "Pieces to lay out, in order of use"
    board_page: Label = "board {page} of {pages}"
    board_frames: Label = "put on at frames"
    worn_already: Label = "worn already"
    doubts: Label = "Doubtful: ask before filming"
    doubts_page: Label = "doubtful {page} of {pages}"
    missing: Label = "line {line} could not be done and is not on this sheet"
    contents: Label = "contents"
    contents_page: Label = "contents {page} of {pages}"
    at_page: Label = "page {page}"
    shot_frames: Label = "{frames} frames"

    @field_validator("*")
    @classmethod
    def _same_names(cls, text: str, info: ValidationInfo) -> str:
        ours = _filled_in(str(cls.model_fields[str(info.field_name)].default))
        try:
            theirs = _filled_in(text)
        except ValueError:
            theirs = {"{"}
        if theirs != ours:
            allowed = " and ".join(f"{{{name}}}" for name in sorted(ours)) or "no braces"
            raise ValueError(f"found {text!r}; this message has {allowed}")
        return text
