"""The shape of a token: what its kinds of characters say of it, whichever characters they are.

All tokens of a shape are shown by one sample (``sample_of``), and what the sample tells is worked
out once for all of them: a long list holds many tokens, but few shapes. Leaves to ``tokens`` what
the characters themselves say.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Mapping
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

from provenance.markings.schemes import Form, Proposal, Trial, sample_of, worth_trying
from provenance.markings.schemes.form import Table

LONGEST_DATED = 24
"""Characters of the longest token in which a date is looked for."""
AROUND = ',;:+#()[]{}"'
"""Signs around a token that are no part of it."""
MOST_UNREAD = 2
"""Unreadable characters in a token beyond which it is given up: too many dates would fit."""


Manner = tuple[str, tuple[str, ...], int, int, int, float]
"""A proposal without its numbers: its form, or ``house: `` and the house's name; the names of its
weights; where it starts and ends in its token; its cycle; a factor for what is unread.

Tokens of one shape have few manners between them."""
Way = tuple[slice, Table, slice, Table, Manner, str, int]
"""A form of a date in tokens of a shape: where the year stands and what it means, where the number
stands and what it means; the manner of what is read; unit, and last number or 0."""

Values = Mapping[str, tuple[int, ...]]
"""What the characters of a field mean with one of them changed over, each such meaning."""
Swap = tuple[Way, Values, Values]
"""A way that is tried with a 1 for a 7 or the other way round; what its year and its number mean
then."""


class Offering(NamedTuple):
    """How dates are looked for in tokens of a shape, and with which changes to their characters."""

    ways: tuple[Way, ...]
    trials: tuple[Trial, ...]
    own: tuple[str, ...]
    """Circumstances of what the trials read; those of the ways are in their manners."""
    is_unread: bool
    """Whether characters are unreadable."""
    in_figures: tuple[Offering, Offering] | None
    """How dates are looked for with figures for the letters, if all letters may be figures in
    truth: where houses avoid the letters, and where they do not."""
    swaps: tuple[Swap, ...]
    swaps_need: Manner | None
    """What the token as it stands must have been read as, if those are to be tried."""


class Shape(NamedTuple):
    """What the shape of a token says."""

    settled: tuple[str, str] | None
    """What it is, and why, if it can be nothing else and holds no date."""
    may_be_word: bool
    """Whether a known word has this shape."""
    is_four_letters: bool
    in_capitals: bool
    """Whether there are no small letters."""
    start: int
    end: int
    """Where the token stands between the signs around it."""
    bare_is_figures: bool
    short: bool
    """A single character, or a figure and a letter."""
    is_long_mix: bool
    """Letters and figures, as many as a part number has."""
    may_be_quantity: bool
    given_up: bool
    """Too many characters are unread."""
    offering: Offering
    role: tuple[bool, int, bool, bool]
    """Two letters; how it ends a date of several tokens; letters only; too long to begin one."""
    is_figures: bool
    is_value: bool
    """No letters."""
    has_noughts_behind: bool
    """Whether it may have been written by a spreadsheet as ``7841.0``."""
    use: str
    """``cyrillic`` where it has Cyrillic letters."""


def shape_of(text: str) -> Shape:
    """The shape of a token, which is plain and has no spaces."""
    return _shape(sample_of(text))


_CYRILLIC = re.compile("[\u0400-\u04ff]")


@lru_cache(maxsize=8192)
def _shape(sample: str) -> Shape:
    upper = upper_of(sample)
    bare = upper.strip(AROUND) or upper
    own: tuple[str, ...] = ()
    if bare == "'0000":
        bare = "0000"  # A spreadsheet's sign that the figures are text.
    elif bare == "0000.0":
        bare, own = "0000", ("@spreadsheet",)
    start = upper.index(bare)
    end = start + len(bare)
    # Two characters keep their case: a small letter can be a week.
    offered = sample[start:end] if len(bare) == 2 else bare
    length = len(sample)
    is_figures = sample.isdigit()
    if length == 2:
        ends = 1 if is_figures else 0
    else:
        ends = 2 if 2 < length < 5 and sample[-2:].isdigit() else 0
    return Shape(
        settled=_settled(sample, upper, bare),
        may_be_word=not sample.isascii() or not word_samples().isdisjoint((upper, bare)),
        is_four_letters=len(bare) == 4 and bare.isalpha() and bare.isascii(),
        in_capitals=sample == upper,
        start=start,
        end=end,
        bare_is_figures=bare.isdigit(),
        short=len(bare) == 1 or (len(bare) == 2 and not bare.isdigit()),
        is_long_mix=(
            len(bare) >= 6 and any(map(str.isalpha, bare)) and any(map(str.isdigit, bare))
        ),
        may_be_quantity=sample[start:end][:1].isdigit() and not sample[start:end].isdigit(),
        given_up=sample.count("?") > MOST_UNREAD,
        offering=offering_of(sample_of(offered), start, own),
        role=(length == 2 and sample.isalpha(), ends, sample.isalpha(), length > 9),
        is_figures=is_figures,
        is_value=not any(map(str.isalpha, sample)),
        has_noughts_behind=".0" in sample,
        use="" if sample.isascii() or not _CYRILLIC.search(sample) else "cyrillic",
    )


def upper_of(text: str) -> str:
    """A token in capitals, as long as it is that makes it no longer."""
    upper = text.upper()
    return upper if len(upper) == len(text) else text


def _settled(sample: str, upper: str, bare: str) -> tuple[str, str] | None:
    """What a token of the shape is, if it can hold no date and is no known word."""
    if len(sample) > LONGEST_DATED:
        return "code", "too long for a date"
    if bare.isalpha():
        small = len(bare) == 2 and sample != upper
        # Four letters can be a coded year and month.
        if small or (bare.isascii() and len(bare) > 2 and len(bare) != 4):
            return "word", "letters only"
    elif not any(map(str.isalnum, bare)):
        return (
            ("unread", "no character can be read")
            if "?" in bare
            else ("sign", "no letter or figure")
        )
    return None


@lru_cache(maxsize=8192)
def offering_of(sample: str, start: int = 0, own: tuple[str, ...] = ()) -> Offering:
    """What is tried on tokens with such a sample, which begins at a place of the whole token;
    ``own`` are circumstances of all such tokens."""
    if sample.isalpha() and len(sample) not in (2, 4):
        return Offering((), (), (), False, None, (), None)
    forms, trials = worth_trying(sample)
    figures = sample.isdigit()
    weeks = _years_and_weeks(forms, figures) if 3 <= len(sample) <= 5 else []
    return Offering(
        ways=tuple(_way(form, start, *own) for form in forms),
        trials=trials,
        own=own,
        is_unread="?" in sample,
        in_figures=_in_figures(sample, start),
        swaps=tuple(
            (_way(form, start, "@one_seven"), _swapped(form.years), _swapped(form.numbers))
            for form in weeks
        ),
        swaps_need=manner_of(weeks[0], start) if weeks and not figures else None,
    )


def _in_figures(sample: str, start: int) -> tuple[Offering, Offering] | None:
    if not 3 <= len(sample) <= 7 or sample.count("0") < 2 or "A" not in sample:
        return None
    if not set(sample) <= _FIGURES_AND_SIGNS:
        return None
    forms, trials = worth_trying(sample.replace("A", "0"))

    def offering(own: str) -> Offering:
        ways = tuple(_way(form, start, own) for form in forms)
        return Offering(ways, trials, (own,), False, None, (), None)

    return offering("@o_or_i_for_figure"), offering("@letter_for_figure")


_FIGURES_AND_SIGNS = frozenset("0A'./-")


def _years_and_weeks(forms: Iterable[Form], figures: bool) -> list[Form]:
    """The forms that are tried with a 1 for a 7: years and weeks of figures, or with a plant or
    line beside them."""
    keys = ("year_week", "short_year_week") if figures else ("year_week_plant", "year_week_lot")
    return [form for form in forms if form.name.partition(".")[0] in keys]


def manner_of(
    found: Form | Proposal, start: int = 0, own: tuple[str, ...] = (), factor: float = 1.0
) -> Manner:
    """The manner of what is read at a place of the whole token; ``own`` are circumstances of the
    token itself that bear on it."""
    name, begin, end = found[:3]
    return name, (name, *own), begin + start, end + start, found.cycle, factor


def _way(form: Form, start: int, *own: str) -> Way:
    manner = manner_of(form, start, own)
    return form.year, form.years, form.number, form.numbers, manner, form.unit, form.until


_ONE_SEVEN = {"1": "7", "7": "1"}


def _swapped(table: Table) -> Values:
    """What characters mean with one 1 read as 7 or one 7 as 1, the foremost first.

    >>> _swapped({"17": 17, "71": 71, "41": 41})
    {'77': (17, 71), '11': (71, 17), '47': (41,)}
    """
    found: dict[str, dict[int, int]] = {}
    for text, value in table.items():
        for place, char in enumerate(text):
            if other := _ONE_SEVEN.get(char):
                found.setdefault(text[:place] + other + text[place + 1 :], {})[place] = value
    return {text: tuple([by[place] for place in sorted(by)]) for text, by in found.items()}


@lru_cache(maxsize=1)
def _word_rows() -> tuple[dict[str, str], ...]:
    text = Path(__file__).with_name("words.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


@lru_cache(maxsize=1)
def words() -> dict[str, str]:
    """Words that stand on parts beside the date, and their kind."""
    return {row["word"]: row["kind"] for row in _word_rows()}


@lru_cache(maxsize=1)
def words_since() -> dict[str, int]:
    """Of the words that were not always used, the first year in which they were."""
    return {row["word"]: int(row["since"]) for row in _word_rows() if row["since"]}


@lru_cache(maxsize=1)
def word_samples() -> frozenset[str]:
    """The samples of the known words."""
    return frozenset(map(sample_of, words()))
