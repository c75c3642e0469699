"""The phonemes of English and what the lips do for each.

One row for each phoneme, in ARPAbet without stress. The 39 symbols are those of the phoneme list of the CMU
Pronouncing Dictionary. Kind and place are those of the chart of the International Phonetic Alphabet; a vowel has
"vowel" as its place, since the place of the tongue is not needed here. `rounded` follows the chart for vowels and W;
a diphthong has two values in order. `seen` is how much of the sound an audience sees on the lips, 0 to 1. It is
chosen: at first from the place (lips 1, lip and teeth 1, tongue between teeth 0.7, behind the teeth 0.4, further back
0.2), then more where teeth or lips show (S, SH, CH, R, L) and less where they do not (N); vowels from 0.7 to 1, most
when open or rounded, least for AH. What the lips do in time is in fit/lips_in_time.py. The example words are our own.
"""

from __future__ import annotations

from dataclasses import dataclass

SILENCE = "SIL"


@dataclass(frozen=True, slots=True)
class PhonemeRow:
    """One phoneme: IPA symbol, kind and place of articulation, rounding, what is seen, an example word."""

    symbol: str
    ipa: str
    kind: str
    place: str
    rounded: tuple[bool, ...]
    seen: float
    example: str


def _row(line: str) -> PhonemeRow:
    symbol, ipa, kind, place, lips, seen, example = line.split()
    rounded = tuple(part == "round" for part in lips.split(">"))
    return PhonemeRow(symbol, ipa, kind, place, rounded, float(seen), example)


TABLE: tuple[PhonemeRow, ...] = tuple(
    _row(line)
    for line in """
    AA  ɑ   vowel      vowel         flat        1.0  lock
    AE  æ   vowel      vowel         flat        1.0  lamp
    AH  ʌ   vowel      vowel         flat        0.7  mud
    AO  ɔ   vowel      vowel         round       1.0  fog
    AW  aʊ  diphthong  vowel         flat>round  1.0  crown
    AY  aɪ  diphthong  vowel         flat>flat   1.0  tide
    B   b   stop       bilabial      flat        1.0  boat
    CH  tʃ  affricate  postalveolar  flat        0.7  latch
    D   d   stop       alveolar      flat        0.4  door
    DH  ð   fricative  dental        flat        0.7  this
    EH  ɛ   vowel      vowel         flat        0.9  bell
    ER  ɝ   vowel      vowel         flat        0.8  bird
    EY  eɪ  diphthong  vowel         flat>flat   0.9  lake
    F   f   fricative  labiodental   flat        1.0  fish
    G   ɡ   stop       velar         flat        0.2  gull
    HH  h   fricative  glottal       flat        0.2  heron
    IH  ɪ   vowel      vowel         flat        0.8  ship
    IY  i   vowel      vowel         flat        0.9  sea
    JH  dʒ  affricate  postalveolar  flat        0.7  jetty
    K   k   stop       velar         flat        0.2  crab
    L   l   liquid     alveolar      flat        0.5  lantern
    M   m   nasal      bilabial      flat        1.0  mail
    N   n   nasal      alveolar      flat        0.3  net
    NG  ŋ   nasal      velar         flat        0.2  wing
    OW  oʊ  diphthong  vowel         round>round 1.0  rope
    OY  ɔɪ  diphthong  vowel         round>flat  1.0  buoy
    P   p   stop       bilabial      flat        1.0  pier
    R   ɹ   liquid     postalveolar  flat        0.6  rain
    S   s   fricative  alveolar      flat        0.5  salt
    SH  ʃ   fricative  postalveolar  flat        0.7  shell
    T   t   stop       alveolar      flat        0.4  tin
    TH  θ   fricative  dental        flat        0.7  thaw
    UH  ʊ   vowel      vowel         round       0.9  hook
    UW  u   vowel      vowel         round       1.0  moon
    V   v   fricative  labiodental   flat        1.0  van
    W   w   glide      bilabial      round       0.9  wave
    Y   j   glide      palatal       flat        0.4  yarn
    Z   z   fricative  alveolar      flat        0.5  zip
    ZH  ʒ   fricative  postalveolar  flat        0.7  pleasure
    """.strip().splitlines()
)

PHONEMES: dict[str, PhonemeRow] = {row.symbol: row for row in TABLE}
VOWELS = frozenset(row.symbol for row in TABLE if row.place == "vowel")
DIPHTHONGS = frozenset(row.symbol for row in TABLE if row.kind == "diphthong")

# The two classes that must be seen on the lips (IPA chart: bilabial stops and nasals; labiodentals).
LIPS_CLOSED = frozenset(row.symbol for row in TABLE if row.place == "bilabial" and row.kind in ("stop", "nasal"))
LIP_TO_TEETH = frozenset(row.symbol for row in TABLE if row.place == "labiodental")
MUST_BE_SEEN = LIPS_CLOSED | LIP_TO_TEETH


def split_stress(symbol: str) -> tuple[str, int | None]:
    """Return phoneme and stress of a symbol of the dictionary; stress is None if it has none.

    Raises:
        ValueError: if it is no ARPAbet phoneme.

    >>> split_stress("AH1"), split_stress("M")
    (('AH', 1), ('M', None))
    """
    bare, stress = (symbol[:-1], int(symbol[-1])) if symbol[-1:] in ("0", "1", "2") else (symbol, None)
    if bare not in PHONEMES or (stress is not None and bare not in VOWELS):
        raise ValueError(
            f"{symbol!r} is no ARPAbet phoneme; the 39 are {' '.join(PHONEMES)}, vowels with stress 0, 1 or 2"
        )
    return bare, stress


def join_stress(symbol: str, stress: int | None) -> str:
    """Return the symbol of the dictionary for a phoneme and its stress.

    >>> join_stress("AH", 1), join_stress("M", None)
    ('AH1', 'M')
    """
    return symbol if stress is None else f"{symbol}{stress}"
