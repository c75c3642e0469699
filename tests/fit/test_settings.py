"""Weights that are negative or no numbers are refused, with their place."""

from __future__ import annotations

from pathlib import Path

import pytest

from lipsync.errors import InputError
from lipsync.fit.fit_settings import FittingSettings, Holds, Leads, Prices, settings_for
from lipsync.tomlfile import Table, read_table


class Holder(Table):
    fitting: FittingSettings = FittingSettings()


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "[fitting.price]\nfitting = -0.5",
            r"\[fitting\] \[price\] fitting: found -0.5",
        ),
        ("[fitting.price]\njump = 'much'", r"\[fitting\] \[price\] jump: found 'much'"),
        ("[fitting.price]\nshort_hold = true", r"\[fitting\] \[price\] short_hold: found [Tt]rue"),
        ("[fitting.price]\nlong_hold = nan", r"\[fitting\] \[price\] long_hold: found nan"),
        ("[fitting.size]\nstress = inf", r"\[fitting\] \[size\] stress: found inf"),
        (
            "[fitting.size]\nstress = 0\nlength = 0\nloudness = 0",
            r"\[size\].*at least one of the three must be above 0",
        ),
        ("[fitting.hold]\nshortest = 5\nlongest = 4", r"\[hold\].*shortest: found 5, above longest, 4"),
        ("[fitting]\non = 'threes'", r"\[fitting\] on: found 'threes'"),
        ("[fitting.lead]\nvowels = 9", r"\[fitting\] \[lead\] vowels: found 9"),
        ("[fitting.price]\nglue = 1", r"\[fitting\] \[price\] glue: is not known here"),
    ],
)
def test_refused(tmp_path: Path, text: str, message: str) -> None:
    path = tmp_path / "production.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=message):
        read_table(path, Holder)


def test_a_mouth_sets_own_keys_win_and_only_those() -> None:
    production = FittingSettings(on="mixed", price=Prices(fitting=0.5, jump=0.1))
    own = FittingSettings(price=Prices(fitting=0.9))
    merged = settings_for(production, own)
    assert (merged.on, merged.price.fitting, merged.price.jump) == ("mixed", 0.9, 0.1)
    assert settings_for(production, None) == production


def test_half_of_a_limit_is_looked_at_with_the_other_half() -> None:
    """`longest = 1` alone is no fault: the other file may say that the shortest is 1."""
    short = FittingSettings(hold=Holds(shortest=1))
    assert settings_for(short, FittingSettings(hold=Holds(longest=1))).hold.longest == 1
    with pytest.raises(InputError, match="shortest: found 2, above longest, 1"):
        settings_for(FittingSettings(), FittingSettings(hold=Holds(longest=1)))
    with pytest.raises(InputError, match="shortest: found 2, above longest, 1"):
        settings_for(FittingSettings(hold=Holds(longest=1)), None)


def test_leads_by_class() -> None:
    leads = Leads(lips_closed=0, lip_to_teeth=2, vowels=3, others=-1)
    assert [leads.of(symbol) for symbol in ("M", "V", "OW", "S", "[breath]")] == [0, 2, 3, -1, -1]


def test_what_does_not_go_together_is_told() -> None:
    production, own = FittingSettings(hold=Holds(longest=6)), FittingSettings(hold=Holds(shortest=8))
    with pytest.raises(InputError) as caught:
        settings_for(production, own)
    (problem,) = caught.value.problems
    assert (problem.place, problem.text) == (
        "[fitting] [hold]",
        "shortest: found 8, above longest, 6; write at most that",
    )
