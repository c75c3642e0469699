"""Texts as scriptwriters write them -> what is spoken. Every reading here was written down by hand, not copied."""

import pytest

from lipsync.errors import LineError
from lipsync.text.abbreviations import ABBREVIATIONS, SIGNS, UNITS, WITHOUT_POINT
from lipsync.text.dictionary import look_up
from lipsync.text.numerals import FRACTIONS, MAGNITUDES, MONEY, readings_of_number
from lipsync.text.script import CueToken, SpokenWord, key_of, tokens_of

# Text -> the words as printed and the likeliest reading of each; "/" between words of the text.
TEXTS = [
    ("Hello.", "Hello", "hello"),
    ("“Who on earth is that?”", "Who/on/earth/is/that", "who/on/earth/is/that"),
    ("‘Evening, Crab’s here.’", "Evening/Crab's/here", "evening/crab's/here"),
    ("I don’t know", "I/don't/know", "i/don't/know"),
    ("the crabs' boat", "the/crabs'/boat", "the/crabs/boat"),
    ("'Tis mine, 'em said, goin' 'ome", "'Tis/mine/'em/said/goin'/'ome", "'tis/mine/'em/said/goin'/'ome"),
    ("rock 'n' roll", "rock/'n/roll", "rock/'n/roll"),
    ("five o'clock", "five/o'clock", "five/o'clock"),
    ("a lamp-mender", "a/lamp-mender", "a/lamp-mender"),
    ("wait—what", "wait/what", "wait/what"),
    ("wait--what", "wait/what", "wait/what"),
    ("well... no", "well/no", "well/no"),
    ("well…no", "well/no", "well/no"),
    ("wait - what", "wait/what", "wait/what"),
    ("I wan-", "I/wan", "i/wan"),
    ("b-b-but", "b-b-but", "b-b-but"),
    ("*so* _very_ (yes)!", "so/very/yes", "so/very/yes"),
    ("Café naïve Zoë Ærø", "Café/naïve/Zoë/Ærø", "cafe/naive/zoe/aero"),
    ("Mr. Heron", "Mr./Heron", "mister/heron"),
    ("Mrs Crab", "Mrs/Crab", "missus/crab"),
    ("Dr. Gull of St. Piran", "Dr./Gull/of/St./Piran", "doctor/gull/of/saint/piran"),
    ("lamps, oil, etc.", "lamps/oil/etc.", "lamps/oil/et cetera"),
    ("e.g. this", "e.g./this", "e. g./this"),
    ("No. 5", "No./5", "number/five"),
    ("No. Five", "No/Five", "no/five"),
    ("salt & oil", "salt/&/oil", "salt/and/oil"),
    ("Q&A", "Q&A", "q. and a."),
    ("yes/no", "yes/no".replace("/", "|"), "yes no"),
    ("B.B.C. news", "B.B.C./news", "b. b. c./news"),
    ("at 7 a.m.", "at/7/a.m.", "at/seven/a. m."),
    ("the U.S.A.'s", "the/U.S.A.'s", "the/u. s. a.'s"),
    ("42 lamps", "42/lamps", "forty two/lamps"),
    ("1984", "1984", "nineteen eighty four"),
    (
        "in 1900, 1905 and 2005",
        "in/1900/1905/and/2005",
        "in/nineteen hundred/nineteen oh five/and/two thousand and five",
    ),
    ("1,984 lamps", "1,984/lamps", "one thousand nine hundred and eighty four/lamps"),
    ("3.14", "3.14", "three point one four"),
    ("0.5", "0.5", "zero point five"),
    ("-5", "-5", "minus five"),
    ("21st", "21st", "twenty first"),
    ("the 1920s", "the/1920s", "the/nineteen twenties"),
    ("the '80s", "the/'80s", "the/eighties"),
    ("5:30", "5:30", "five thirty"),
    ("5:00", "5:00", "five o'clock"),
    ("5:05 p.m.", "5:05/p.m.", "five oh five/p. m."),
    ("7am", "7am", "seven a. m."),
    ("£5", "£5", "five pounds"),
    ("£1", "£1", "one pound"),
    ("£5.50", "£5.50", "five pounds fifty"),
    ("$2.5m", "$2.5m", "two point five million dollars"),
    ("€1,000", "€1,000", "one thousand euros"),
    ("£0.01", "£0.01", "one penny"),
    ("50p", "50p", "fifty pence"),
    ("20%", "20%", "twenty percent"),
    ("20°C", "20°C", "twenty degrees celsius"),
    ("5kg", "5kg", "five kilograms"),
    ("½", "½", "a half"),
    ("2½", "2½", "two and a half"),
    ("3/4", "3/4".replace("/", "|"), "three quarters"),
    ("5–10", "5-10", "five to ten"),
    ("#7", "#7", "number seven"),
    ("B12", "B12", "b. twelve"),
    ("a 10-year-old", "a/10-year-old", "a/ten year old"),
    ("mid-1990s", "mid-1990s", "mid nineteen nineties"),
    ("24/7", "24/7".replace("/", "|"), "twenty four seven"),
    ("007", "007", "oh oh seven"),
]


@pytest.mark.parametrize(("text", "printed", "spoken"), TEXTS, ids=[row[0] for row in TEXTS])
def test_words_and_their_likeliest_reading(text, printed, spoken):
    tokens = tokens_of(text)
    assert [token.text for token in tokens] == [word.replace("|", "/") for word in printed.split("/")]
    assert [" ".join(token.readings[0]) for token in tokens] == spoken.split("/")


# Text -> every reading that has to be among those tried.
OTHERS = [
    ("101", ["one hundred and one", "one hundred one", "a hundred and one", "one oh one"]),
    ("2015", ["twenty fifteen", "two thousand and fifteen", "two thousand fifteen"]),
    ("1066", ["ten sixty six", "one thousand and sixty six"]),
    ("5:00", ["five o'clock", "five"]),
    ("£5.50", ["five pounds fifty", "five pounds and fifty pence", "five fifty"]),
    ("St.", ["saint", "street"]),
    ("NASA", ["nasa", "n. a. s. a."]),
    ("DVDs", ["dvds", "d. v. d.'s"]),
    ("BBC's", ["bbc's", "b. b. c.'s"]),
    ("Nooo", ["nooo", "no", "noo"]),
    ("Hellooo", ["helloo", "hello"]),
]


@pytest.mark.parametrize(("text", "readings"), OTHERS, ids=[row[0] for row in OTHERS])
def test_other_readings(text, readings):
    (word,) = tokens_of(f"so {text}")[1:]
    assert {" ".join(reading) for reading in word.readings} >= set(readings)


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ('He said "here".', "here"),
        ("He said “here”.", "here"),
        ("‘It is “here”’.", "here"),
        ('He went (he said "here").', "here"),
        ('He said "here"...', "here"),
        ('He is from the "U.S.".', "U.S."),
        ('Wood, glass "etc.".', "etc."),
    ],
)
def test_a_closing_quotation_mark_before_a_full_stop_is_no_part_of_the_word(text, word):
    assert tokens_of(text)[-1].text == word


@pytest.mark.parametrize(
    ("text", "reading"),
    [
        ("10 m", "metres"),
        ("1 m", "metre"),
        ("2.5 m.", "metres"),
        ("½ km", "kilometres"),
        ("3 ft", "feet"),
        ("5 p", "pence"),
        ("20 °C", "degrees celsius"),
        ("10 M", None),
        ("I am 10. m", None),
        ("ten m", None),
        ("10 me", None),
    ],
)
def test_a_unit_by_itself_behind_figures_is_said_in_full(text, reading):
    first = " ".join(tokens_of(text)[-1].readings[0])
    assert (first == reading) if reading else first not in {"metres", "metre", "kilometres"}


def test_a_unit_of_one_letter_may_be_the_letter():
    assert ("m.",) in tokens_of("Bay 10 m")[-1].readings


def test_cues_and_words_in_order():
    assert tokens_of("[breath] Well[gasp], [Deep   Sigh]") == (
        CueToken("breath"),
        SpokenWord("Well", (("well",),)),
        CueToken("gasp"),
        CueToken("deep sigh"),
    )


def test_a_shouted_line_is_no_row_of_initials():
    assert [token.readings for token in tokens_of("STOP IT NOW")] == [(("stop",),), (("it",),), (("now",),)]
    assert ("i.", "t.") in tokens_of("Ask IT now")[1].readings


@pytest.mark.parametrize("text", ["", "   ", "...", "— !", "👍 ∞", "“”"])
def test_nothing_to_hear(text):
    with pytest.raises(LineError, match=r"a\.wav: text: holds no word and no cue; write what is said, or a cue"):
        tokens_of(text, "a.wav")


@pytest.mark.parametrize("text", ["[breath", "breath]", "a [b [c] d"])
def test_half_a_bracket(text):
    with pytest.raises(LineError, match="has half a bracket"):
        tokens_of(text)


def test_a_cue_without_a_name():
    with pytest.raises(LineError, match=r"holds an empty cue \[\]; write its name"):
        tokens_of("Well [ ] no")


def test_keys_are_plain():
    assert key_of("NAÏVE’S") == "naive's"
    assert key_of("ﬁsh") == "fish"
    assert key_of("Straße") == "strasse"


def test_every_spoken_word_of_the_tables_is_in_the_dictionary():
    tables = [*ABBREVIATIONS.values(), *SIGNS.values(), *WITHOUT_POINT.values(), *FRACTIONS.values()]
    words = {word for readings in tables for reading in readings for word in reading}
    words |= {word for names in (*MONEY.values(), *UNITS.values()) for name in names for word in name.split()}
    words |= set(MAGNITUDES.values())
    assert len(words) > 60
    assert [word for word in sorted(words) if not look_up(word)] == []


def test_every_number_to_ten_thousand_can_be_said():
    said = {word for number in range(10_001) for reading in readings_of_number(str(number)) for word in reading}
    assert [word for word in sorted(said) if not look_up(word)] == []


def test_every_minute_of_the_day_can_be_said():
    times = [f"{hour}:{minute:02}" for hour in range(24) for minute in range(60)]
    said = {word for time in times for reading in readings_of_number(time) for word in reading}
    assert all(readings_of_number(time) for time in times)
    assert [word for word in sorted(said) if not look_up(word)] == []


@pytest.mark.parametrize("text", ["lamp", "1:75", "1,5", "25:00", "", "-", "£", "1/7"])
def test_what_is_no_number(text):
    assert readings_of_number(text) == ()


def test_a_word_needs_a_text_and_a_reading():
    for text, readings in (("", (("a",),)), ("a", ()), ("a", ((),))):
        with pytest.raises(ValueError, match="needs a text and at least one reading"):
            SpokenWord(text, readings)
