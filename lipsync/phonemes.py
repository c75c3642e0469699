"""The phonemes of English and what the lips do for each.

One row a phoneme, in ARPAbet without stress. Kind and place are the International Phonetic Alphabet chart's (vowels:
from the tongue's place, of no use here, so `place` is "vowel"); the 39 symbols are those of the CMU Pronouncing
Dictionary's phoneme list. `rounded` follows the IPA chart for vowels and W; the lips of a diphthong are given in
order. `seen` is how much of the sound an audience sees on the lips, 0 to 1: chosen, at first from the place (lips 1,
lip and teeth 1, tongue between teeth 0.7, behind the teeth 0.4, further back 0.2), then more where teeth or lips
show (S, SH, CH, R, L) and less where they do not (N); vowels 1 when open, rounded or spread, less for the weak
middle ones. `leaves` is how much of lips and jaw a consonant leaves to the vowels around it, 0 to 1
(coarticulation). Which leave much and which little is known in phonetics, from memory: the jaw is high and steady in
S, Z, SH and their like, and goes with the vowels in K, H and N (Keating, Lindblom, Lubker and Kreiman 1994); R and W
are made with the lips too. How much is chosen.
"""

from __future__ import annotations

from dataclasses import dataclass

SILENCE = "SIL"


@dataclass(frozen=True, slots=True)
class PhonemeRow:
    """One phoneme: IPA symbol, kind and place of articulation, rounding, what is seen and left, an example word."""

    symbol: str
    ipa: str
    kind: str
    place: str
    rounded: tuple[bool, ...]
    seen: float
    leaves: float
    example: str


def _row(line: str) -> PhonemeRow:
    symbol, ipa, kind, place, lips, seen, leaves, example = line.split()
    rounded = tuple(part == "round" for part in lips.split(">"))
    return PhonemeRow(symbol, ipa, kind, place, rounded, float(seen), float(leaves), example)


TABLE: tuple[PhonemeRow, ...] = tuple(
    _row(line)
    for line in """
    AA  ɑ   vowel      vowel         flat        1.0  0     odd
    AE  æ   vowel      vowel         flat        1.0  0     at
    AH  ʌ   vowel      vowel         flat        0.7  0     hut
    AO  ɔ   vowel      vowel         round       1.0  0     ought
    AW  aʊ  diphthong  vowel         flat>round  1.0  0     cow
    AY  aɪ  diphthong  vowel         flat>flat   1.0  0     hide
    B   b   stop       bilabial      flat        1.0  0     be
    CH  tʃ  affricate  postalveolar  flat        0.7  0.15  cheese
    D   d   stop       alveolar      flat        0.4  0.7   dee
    DH  ð   fricative  dental        flat        0.7  0.15  thee
    EH  ɛ   vowel      vowel         flat        0.9  0     Ed
    ER  ɝ   vowel      vowel         flat        0.8  0     hurt
    EY  eɪ  diphthong  vowel         flat>flat   0.9  0     ate
    F   f   fricative  labiodental   flat        1.0  0     fee
    G   ɡ   stop       velar         flat        0.2  0.8   green
    HH  h   fricative  glottal       flat        0.2  0.8   he
    IH  ɪ   vowel      vowel         flat        0.8  0     it
    IY  i   vowel      vowel         flat        0.9  0     eat
    JH  dʒ  affricate  postalveolar  flat        0.7  0.15  gee
    K   k   stop       velar         flat        0.2  0.8   key
    L   l   liquid     alveolar      flat        0.5  0.25  lee
    M   m   nasal      bilabial      flat        1.0  0     me
    N   n   nasal      alveolar      flat        0.3  0.7   knee
    NG  ŋ   nasal      velar         flat        0.2  0.8   ping
    OW  oʊ  diphthong  vowel         round>round 1.0  0     oat
    OY  ɔɪ  diphthong  vowel         round>flat  1.0  0     toy
    P   p   stop       bilabial      flat        1.0  0     pee
    R   ɹ   liquid     postalveolar  flat        0.6  0.1   read
    S   s   fricative  alveolar      flat        0.5  0.15  sea
    SH  ʃ   fricative  postalveolar  flat        0.7  0.15  she
    T   t   stop       alveolar      flat        0.4  0.7   tea
    TH  θ   fricative  dental        flat        0.7  0.15  theta
    UH  ʊ   vowel      vowel         round       0.9  0     hood
    UW  u   vowel      vowel         round       1.0  0     two
    V   v   fricative  labiodental   flat        1.0  0     vee
    W   w   glide      bilabial      round       0.9  0     we
    Y   j   glide      palatal       flat        0.4  0.25  yield
    Z   z   fricative  alveolar      flat        0.5  0.15  zee
    ZH  ʒ   fricative  postalveolar  flat        0.7  0.15  seizure
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
    """Return phoneme and stress of a dictionary symbol.

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
    """Return the dictionary symbol of a phoneme and its stress.

    >>> join_stress("AH", 1), join_stress("M", None)
    ('AH1', 'M')
    """
    return symbol if stress is None else f"{symbol}{stress}"
