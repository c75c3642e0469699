"""The measures of the exposure sheet's page, by name: one frozen table for each part of the page.

Units: millimetres (`_mm`), points (`_pt`), greys from 0 (black) to 1 (white), parts of another measure (`_part`). All
are chosen, by looking at printed pages in grey at arm's length. A measure that grows with the letters is given for
the standard form, and multiplied by `Letters.scale` where it is used.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class HeadingMeasures:
    """The heading, above the rows: two lines, and on low pages one with small lines beside it."""

    shot_pt: float = 20.0
    page_pt: float = 13.0
    title_pt: float = 10.5
    facts_pt: float = 9.0
    differs_pt: float = 9.0
    shot_base_mm: float = 6.6
    low_shot_base_mm: float = 7.2
    page_base_mm: float = 6.2
    title_base_mm: float = 12.2
    title_above_mm: float = 10.8
    title_below_mm: float = 13.8
    small_facts_pt: float = 8.0
    low_title_base_mm: float = 4.2
    low_title_above_mm: float = 2.4
    low_title_below_mm: float = 5.0
    low_facts_base_mm: float = 8.0
    revision_top_mm: float = 0.8
    revision_height_mm: float = 7.2
    revision_pad_mm: float = 1.5
    revision_line_mm: float = 0.5
    gap_mm: float = 4.0
    low_gap_mm: float = 6.0
    title_gap_mm: float = 5.0
    page_part: float = 0.34
    facts_part: float = 0.6
    shot_part: float = 0.3


@dataclass(frozen=True, slots=True)
class HeadsMeasures:
    """The heads of columns, measured up from the first row."""

    name_pt: float = 11.0
    name_below_top_mm: float = 3.8
    label_base_mm: float = 1.2
    label_line_mm: float = 2.6
    rule_mm: float = 5.8
    label_gap_mm: float = 0.5
    most_label_mm: float = 18.0


@dataclass(frozen=True, slots=True)
class GridMeasures:
    """Rules, boxes to tick, and bars beside rows that changed. A rule: width, and grey where it is not black."""

    second_mm: float = 0.6
    counted_mm: float = 0.35
    fourth_mm: float = 0.15
    fourth_grey: float = 0.35
    row_mm: float = 0.1
    row_grey: float = 0.72
    character_mm: float = 0.4
    every: int = 4
    tick_mm: float = 2.6
    tick_pad_mm: float = 0.6
    tick_line_mm: float = 0.2
    filmed_tick_mm: float = 4.5
    filmed_tick_part: float = 0.66
    # Visible on a copy, and digits on it can be read (0.6 to 0.9 were tried).
    filmed_grey: float = 0.76
    bar_mm: float = 1.3
    bar_left_mm: float = 2.6
    bank_gap_mm: float = 4.0
    end_below_mm: float = 5.0
    end_pt: float = 9.0


@dataclass(frozen=True, slots=True)
class LaneMeasures:
    """The strips of a character's column, and the columns to write in."""

    pad_mm: float = 1.0
    word_pad_mm: float = 2.2
    doubt_pad_mm: float = 1.2
    doubt_mm: float = 3.4
    level_mm: float = 3.6
    beat_mm: float = 2.6
    least_picture_mm: float = 5.2
    most_picture_mm: float = 9.5
    picture_row_part: float = 0.94
    picture_rows: int = 2
    least_phoneme_mm: float = 4.0
    # Words and cues up to this width are never cut in their column (some seventy letters), nor are names (some
    # hundred and fifty); if needed, another page is chosen. A longer word is printed in full at the foot.
    most_word_mm: float = 120.0
    most_name_mm: float = 200.0
    # A wider note is printed in brief, with a sign, and the foot explains the sign.
    most_note_mm: float = 22.0
    wished_note_mm: float = 30.0
    note_part: float = 10 / 13
    most_spare_word_mm: float = 6.0
    filmed_mm: float = 4.0


@dataclass(frozen=True, slots=True)
class HoldMeasures:
    """A hold: its line down, and the piece's name again."""

    line_mm: float = 0.45
    dash_mm: float = 0.8
    least_line_mm: float = 0.8
    below_picture_mm: float = 0.5
    above_end_mm: float = 0.9
    foot_half_mm: float = 1.3
    foot_line_mm: float = 0.6
    wave_mm: float = 0.55
    wave_long_mm: float = 2.4
    wave_bow: float = 4 / 3
    again_grey: float = 0.42
    # Rows from one name of a held piece to the next, and from one "keep alive" to the next.
    again_rows: int = 4
    alive_rows: int = 12
    off_grey: float = 0.87


@dataclass(frozen=True, slots=True)
class SoundMeasures:
    """Words, phonemes and the drawing of the voice."""

    run_mm: float = 0.3
    run_grey: float = 0.35
    run_left_mm: float = 0.7
    run_above_end_mm: float = 0.9
    level_grey: float = 0.62
    level_pad_mm: float = 0.3
    beat_half_mm: float = 1.2
    badge_left_mm: float = 0.2
    badge_pad_mm: float = 0.6
    struck_mm: float = 0.35
    struck_beyond_mm: float = 0.4
    struck_up: float = 0.13
    # Blank between two phonemes of a row, in mm for each point of their size.
    phoneme_gap: float = 0.12
    # The level is drawn over so many dB below the shot's loudest frame: speech spans some 30.
    span_db: float = 36.0
    quietest_db: float = -40.0


@dataclass(frozen=True, slots=True)
class FootMeasures:
    """The foot, below the rows. Measures without a unit are in mm for each point of the foot's letters."""

    code_mm: float = 9.0
    code_gap_mm: float = 2.5
    stamp_pt: float = 11.0
    stamp_label_pt: float = 7.5
    stamp_label_up_mm: float = 5.2
    stamp_up_mm: float = 0.6
    stamp_gap_mm: float = 6.0
    last_line_up_mm: float = 0.4
    label_gap_mm: float = 1.5
    indent: float = 0.53
    gap: float = 0.5
    badge: float = 0.36
    badge_up: float = 0.31
    sign_high: float = 0.33
    sign_up: float = 0.29
    filmed_wide: float = 0.4
    box: float = 0.26
    beat_up: float = 0.125
    beat_half: float = 0.144
    beat_right_mm: float = 1.45
    bar_right_mm: float = 0.8
    box_right_mm: float = 0.4
    line_right_mm: float = 1.5
    line_beyond_mm: float = 0.2


@dataclass(frozen=True, slots=True)
class ListMeasures:
    """The last page, which lists what no foot had room for."""

    size_pt: float = 10.0
    number_pt: float = 13.0
    line_mm: float = 4.4
    pad_mm: float = 1.6
    top_mm: float = 4.0
    base_mm: float = 4.4
    number_right_mm: float = 18.0
    name_left_mm: float = 22.0
    name_gap_mm: float = 3.0
    most_name_part: float = 0.3
    most_lines: int = 12


HEADING = HeadingMeasures()
HEADS = HeadsMeasures()
GRID = GridMeasures()
LANES = LaneMeasures()
HOLD = HoldMeasures()
SOUND = SoundMeasures()
FOOT = FootMeasures()
LIST = ListMeasures()
