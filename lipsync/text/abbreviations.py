"""Tables of what is written shorter than it is spoken: abbreviations, signs, units, clipped words.

Keys are in small letters with plain apostrophes. A reading is a tuple of spoken words; where there are several, the
recording decides. The abbreviations are those of British and American English in everyday print, the readings common
practice. A production that reads one differently writes it into its own pronunciations, which come first.
"""

from __future__ import annotations

Reading = tuple[str, ...]


def _rows(table: str) -> dict[str, tuple[Reading, ...]]:
    rows = (line.split(maxsplit=1) for line in table.strip().splitlines())
    return {short: tuple(tuple(said.split()) for said in long.split("|")) for short, long in rows}


# Written with a point that does not end a sentence.
ABBREVIATIONS = _rows(
    """
    mr.      mister
    mrs.     missus
    ms.      ms.
    messrs.  messrs.
    dr.      doctor | drive
    st.      saint | street
    prof.    professor
    rev.     reverend
    capt.    captain
    cpt.     captain
    lt.      lieutenant
    col.     colonel
    cmdr.    commander
    maj.     major
    sgt.     sergeant
    gen.     general
    adm.     admiral
    gov.     governor
    sen.     senator
    jr.      junior
    sr.      senior
    ave.     avenue
    rd.      road
    blvd.    boulevard
    mt.      mount | mountain
    ft.      feet | foot | fort
    vs.      versus
    etc.     et cetera | etcetera
    approx.  approximately
    dept.    department
    i.e.     i. e. | that is
    e.g.     e. g. | for example
    &c.      et cetera
    """
)

# Written without the point too, in British English. "no" is missing: it means "number" only before figures
# (script.py).
WITHOUT_POINT = {key: ABBREVIATIONS[f"{key}."] for key in ("mr", "mrs", "ms", "dr", "st", "prof", "rev", "sgt", "mt")}

SIGNS = _rows(
    """
    &  and
    +  plus | and
    =  equals
    @  at
    %  percent
    #  number | hash
    """
)

# Unit after figures -> its spoken singular and plural.
UNITS: dict[str, tuple[str, str]] = {
    "mm": ("millimetre", "millimetres"),
    "cm": ("centimetre", "centimetres"),
    "m": ("metre", "metres"),
    "km": ("kilometre", "kilometres"),
    "g": ("gram", "grams"),
    "kg": ("kilogram", "kilograms"),
    "oz": ("ounce", "ounces"),
    "lb": ("pound", "pounds"),
    "lbs": ("pound", "pounds"),
    "ft": ("foot", "feet"),
    "mph": ("mile an hour", "miles an hour"),
    "min": ("minute", "minutes"),
    "hr": ("hour", "hours"),
    "hrs": ("hour", "hours"),
    "sec": ("second", "seconds"),
    "p": ("penny", "pence"),
    "°": ("degree", "degrees"),
    "°c": ("degree celsius", "degrees celsius"),
    "°f": ("degree fahrenheit", "degrees fahrenheit"),
    "%": ("percent", "percent"),
}

# Words that begin with an apostrophe, which is then no quotation mark.
CLIPPED = frozenset(
    f"'{word}"
    for line in (
        "ave bout cause course e ead ear ello elp em er ere im is kay",
        "n nuff ome orse ouse ow round til tis twas twere twill uns",
    )
    for word in line.split()
)
