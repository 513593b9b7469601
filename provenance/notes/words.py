"""Numbers, dates and lists in plain English.

Knows the scales of words for probabilities and for weights of evidence, how a span of days is
said, and how a list or a count is written. Knows nothing of boards: what is worth saying is in
``provenance.notes.statements``.
"""

from __future__ import annotations

import re
import unicodedata
from calendar import monthrange
from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from provenance.survey.prose import MONTHS, begun
from provenance.survey.prose import listed as listed  # noqa: PLC0414 - a word of this module too
from provenance.survey.typed import on_one_line

PROBABILITY_WORDS: tuple[tuple[float, str], ...] = (
    (0.99, "virtually certain"),
    (0.95, "extremely likely"),
    (0.90, "very likely"),
    (0.66, "likely"),
    (0.50, "more likely than not"),
)
"""A probability that reaches the bound has the word. Source: Mastrandrea et al. 2010, Guidance Note
for Lead Authors of the IPCC Fifth Assessment Report on Consistent Treatment of Uncertainties,
table 1, where 'very likely' is 90 to 100 per cent; with the additional terms 'extremely likely' and
'more likely than not' (over 50, not at 50)."""

IMPROBABILITY_WORDS: tuple[tuple[float, str], ...] = (
    (0.01, "exceptionally unlikely"),
    (0.05, "extremely unlikely"),
    (0.10, "very unlikely"),
    (0.33, "unlikely"),
)
"""A probability no greater than the bound has the word. Source: as for PROBABILITY_WORDS."""

EVEN_WORD = "about as likely as not"
"""From 33 to 66 per cent, same source; used here from 33 to 50, above which 'more likely than
not' says more."""

DECIBAN_WORDS: tuple[tuple[float, str], ...] = (
    (20.0, "decisive"),
    (15.0, "very strong"),
    (10.0, "strong"),
    (5.0, "substantial"),
    (1.0, "slight"),
)
"""A weight of at least so many decibans has the word. Source of the steps: H. Jeffreys, Theory of
Probability, 3rd ed. 1961, appendix B, whose grades change at every half power of ten (5 decibans);
'slight' stands for his 'not worth more than a bare mention'. Below one deciban nothing is claimed:
I. J. Good, Probability and the Weighing of Evidence, 1950, calls it about the smallest weight that
a person can feel."""

NO_WEIGHT_WORD = "no noticeable"


_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_THIRDS = ("early", "mid-", "late")


def probability_word(probability: float) -> str:
    """The word of the IPCC scale for a probability, always the narrowest that fits.

    >>> probability_word(0.93), probability_word(0.4), probability_word(0.02)
    ('very likely', 'about as likely as not', 'extremely unlikely')
    """
    for bound, word in PROBABILITY_WORDS:
        if probability >= bound and probability != 0.5:
            return word
    for bound, word in IMPROBABILITY_WORDS:
        if probability <= bound:
            return word
    return EVEN_WORD


def percent(probability: float) -> str:
    """A probability in per cent, rounded to whole ones, to tenths near the ends; never 0 or 100.

    >>> percent(0.931), percent(0.998), percent(0.9996), percent(0.004), percent(0.0)
    ('93%', '99.8%', 'over 99.9%', '0.4%', 'under 0.1%')
    """
    if probability >= 0.9995:
        return "over 99.9%"
    if probability < 0.0005:
        return "under 0.1%"
    return f"{_rounded_percent(probability):g}%"


def short_percent(probability: float) -> str:
    """The same for a place with little room.

    >>> short_percent(0.9996), short_percent(0.0), short_percent(0.931)
    ('>99.9%', '<0.1%', '93%')
    """
    return percent(probability).replace("over ", ">").replace("under ", "<")


def _rounded_percent(probability: float) -> float:
    per_cent = 100 * probability
    return round(per_cent, 1) if per_cent >= 99.5 or per_cent <= 0.5 else round(per_cent)


def probable(probability: float, count: int = 1) -> str:
    """The word for a probability with the number beside it; the word fits the number printed.

    Of several that are at least so probable, it is what each of them reaches.

    >>> probable(0.93), probable(0.9004), probable(0.9996)
    ('very likely (93%)', 'very likely (90%)', 'virtually certain (over 99.9%)')
    >>> probable(0.93, 4)
    'very likely (each at least 93%)'
    """
    return f"{printed_word(probability)} ({each(probability, count)})"


def each(least: float, count: int) -> str:
    """The least of several probabilities as what each of them reaches; of one, the number alone.

    >>> each(0.983, 4), each(0.983, 1), each(0.9999, 4)
    ('each at least 98%', '98%', 'each over 99.9%')
    """
    said = percent(least)
    if count == 1:
        return said
    return f"each {said}" if said.startswith("over") else f"each at least {said}"


def printed_word(probability: float) -> str:
    """The word that fits the number that ``percent`` prints.

    >>> probability_word(0.8996), printed_word(0.8996), percent(0.8996)
    ('likely', 'very likely', '90%')
    """
    return probability_word(_rounded_percent(probability) / 100)


def deciban_word(decibans: float) -> str:
    """The word for the size of a weight of evidence, whatever its sign.

    >>> [deciban_word(x) for x in (0.3, -3, 7, 12, -17, 25)]
    ['no noticeable', 'slight', 'substantial', 'strong', 'very strong', 'decisive']
    """
    for bound, word in DECIBAN_WORDS:
        if abs(decibans) >= bound:
            return word
    return NO_WEIGHT_WORD


def decibans_text(decibans: float) -> str:
    """A weight with its sign and unit, to a tenth below ten.

    >>> decibans_text(12.34), decibans_text(-3.21), decibans_text(0.04), decibans_text(1.0)
    ('+12 decibans', '-3.2 decibans', '0 decibans', '+1 deciban')
    """
    rounded = round(decibans) if abs(decibans) >= 10 else round(decibans, 1)
    if rounded == 0:
        return "0 decibans"
    return f"{rounded:+g} deciban{'' if abs(rounded) == 1 else 's'}"


def evidence(decibans: float, towards: str, against: str) -> str:
    """A weight of evidence as a phrase: how strong, for which side, and the number.

    >>> evidence(-12.3, "original", "later")
    'strong evidence for later (-12 decibans)'
    """
    side = towards if decibans >= 0 else against
    if deciban_word(decibans) == NO_WEIGHT_WORD:
        return f"no noticeable evidence either way ({decibans_text(decibans)})"
    return f"{deciban_word(decibans)} evidence for {side} ({decibans_text(decibans)})"


def odds(first: float, second: float) -> str:
    """The odds between two probabilities as whole numbers, the larger side first.

    >>> odds(0.9, 0.1), odds(0.2, 0.3), odds(0.5, 0.0), odds(0.5, 0.51)
    ('9 to 1', '1 to 1.5', 'over 1000 to 1', 'even')
    """
    low, high = sorted((first, second))
    if high <= 0:
        return "even"
    ratio = high / low if low > 0 else float("inf")
    if ratio < 1.05:
        return "even"
    size = "over 1000" if ratio > 1000 else f"{ratio:.2g}" if ratio < 10 else f"{ratio:.0f}"
    return f"{size} to 1" if first >= second else f"1 to {size}"


def day(when: date) -> str:
    """A day in prose.

    >>> day(date(1979, 8, 6))
    '6 August 1979'
    """
    return f"{when.day} {MONTHS[when.month - 1]} {when.year}"


def month(when: date) -> str:
    """The month of a day in prose.

    >>> month(date(1979, 8, 6))
    'August 1979'
    """
    return f"{MONTHS[when.month - 1]} {when.year}"


def third(when: date) -> str:
    """The third of the year that holds a day.

    >>> third(date(1984, 11, 2)), third(date(1984, 6, 1))
    ('late 1984', 'mid-1984')
    """
    name = _THIRDS[(when.month - 1) // 4]
    return f"{name}{when.year}" if name.endswith("-") else f"{name} {when.year}"


def _is_whole_months(first: date, last: date) -> bool:
    return first.day == 1 and last.day == monthrange(last.year, last.month)[1]


def _is_whole_year(first: date, last: date) -> bool:
    return (first, last) == (date(first.year, 1, 1), date(first.year, 12, 31))


def _days(first: date, last: date) -> str:
    """The ends of a short span, what they have in common said once."""
    if (first.year, first.month) == (last.year, last.month):
        return f"{first.day} and {day(last)}"
    if first.year == last.year:
        return f"{first.day} {MONTHS[first.month - 1]} and {day(last)}"
    return f"{day(first)} and {day(last)}"


def when(first: date, last: date) -> str:
    """A span of days in prose, never narrower than the span; both ends included.

    Spans of more than a month are said in whole months, of more than six years in whole years.

    >>> when(date(1979, 3, 5), date(1979, 5, 20))
    'between March and May 1979'
    >>> when(date(1979, 8, 6), date(1979, 8, 12))
    'in the week of 1979-08-06'
    >>> when(date(1979, 8, 1), date(1979, 8, 31)), when(date(1984, 1, 1), date(1984, 12, 31))
    ('in August 1979', 'in 1984')
    >>> when(date(1979, 7, 28), date(1979, 8, 9))
    'between 28 July and 9 August 1979'
    >>> when(date(1978, 11, 30), date(1979, 2, 1)), when(date(1977, 3, 1), date(1984, 2, 1))
    ('between November 1978 and February 1979', 'between 1977 and 1984')
    """
    if first > last:
        raise ValueError(f"a span cannot end ({last}) before it begins ({first})")
    if (last - first).days < 31:
        return _short_when(first, last)
    if _is_whole_year(first, last):
        return f"in {first.year}"
    if (last - first).days > 6 * 366:
        return f"between {first.year} and {last.year}"
    start = MONTHS[first.month - 1] if first.year == last.year else month(first)
    return f"between {start} and {month(last)}"


def _short_when(first: date, last: date) -> str:
    if first == last:
        return f"on {day(first)}"
    if first.weekday() == 0 and last - first == timedelta(days=6):
        return f"in the week of {first.isoformat()}"
    if first.month == last.month and _is_whole_months(first, last):
        return f"in {month(first)}"
    return f"between {_days(first, last)}"


def about_when(first: date, last: date) -> str:
    """A span of days in thirds of a year, for a short account; never narrower than the span.

    >>> about_when(date(1984, 9, 20), date(1984, 11, 3))
    'in late 1984'
    >>> about_when(date(1984, 9, 20), date(1985, 2, 3))
    'between late 1984 and early 1985'
    >>> about_when(date(1984, 2, 20), date(1984, 11, 3))
    'in 1984'
    """
    if third(first) == third(last):
        return f"in {third(first)}"
    if first.year == last.year:
        return f"in {first.year}"
    if (last - first).days > 2 * 366:
        return f"between {first.year} and {last.year}"
    return f"between {third(first)} and {third(last)}"


def stated_when(first: date | None, last: date | None, text: str = "") -> str:
    """A date that somebody stated, in prose, with its doubt; ``text`` is the EDTF as written.

    >>> stated_when(date(2026, 5, 1), date(2026, 5, 31), "2026-05")
    'in May 2026'
    >>> stated_when(date(1984, 1, 1), date(1984, 12, 31), "1984?")
    'in 1984 (date uncertain)'
    >>> stated_when(date(1985, 4, 1), None, "1985-04/..")
    'from April 1985 on'
    """
    if first is None and last is None:
        said = "at an unknown date"
    elif first is None:
        assert last is not None
        said = f"by {month(last)}"
    elif last is None:
        said = f"from {month(first)} on"
    else:
        said = when(first, last)
    doubts = []
    if "~" in text or "%" in text:
        doubts.append("date approximate")
    if "?" in text or "%" in text:
        doubts.append("date uncertain")
    return f"{said} ({', '.join(doubts)})" if doubts else said


def compact(first: date, last: date) -> str:
    """A span of days as short as it can be written in figures, for a table.

    Only a span of under a year that passes New Year leaves out its second year; a longer one that
    does is widened to whole months.

    >>> compact(date(1979, 8, 6), date(1979, 8, 12))
    '1979-08-06..12'
    >>> compact(date(1979, 7, 30), date(1979, 8, 5)), compact(date(1979, 8, 1), date(1979, 8, 31))
    ('1979-07-30..08-05', '1979-08')
    >>> compact(date(1979, 12, 30), date(1980, 1, 6)), compact(date(1979, 1, 1), date(1979, 12, 31))
    ('1979-12-30..01-06', '1979')
    >>> compact(date(1979, 12, 30), date(1981, 1, 6)), compact(date(1979, 1, 1), date(1980, 12, 31))
    ('1979-12..1981-01', '1979..1980')
    """
    if (first.month, first.day, last.month, last.day) == (1, 1, 12, 31):
        return str(first.year) if first.year == last.year else f"{first.year}..{last.year}"
    if first.year == last.year and _is_whole_months(first, last):
        return f"{first:%Y-%m}" + (f"..{last:%m}" if first.month != last.month else "")
    if first == last:
        return first.isoformat()
    if (last - first).days >= 365:
        return f"{first:%Y-%m}..{last:%Y-%m}"
    same_month = (first.year, first.month) == (last.year, last.month)
    return f"{first}..{last:%d}" if same_month else f"{first}..{last:%m-%d}"


def natural(text: str) -> tuple[tuple[bool, int, str], ...]:
    """A sort key that puts U9 before U10.

    >>> sorted(["U10", "U9", "C1"], key=natural)
    ['C1', 'U9', 'U10']
    """
    pieces = re.split(r"([0-9]+)", text)
    return tuple((p.isdecimal(), int(p) if p.isdecimal() else 0, p) for p in pieces if p)


def runs(refs: Iterable[str]) -> tuple[str, ...]:
    """References in order, three or more consecutive ones written as a run.

    >>> runs(["U3", "U1", "U2", "U7", "U8", "IC4"])
    ('IC4', 'U1 to U3', 'U7', 'U8')
    """
    found: list[tuple[str, int | None, list[str]]] = []
    for ref in sorted(dict.fromkeys(refs), key=natural):
        match = re.fullmatch(r"(.*?)([1-9][0-9]{0,8})", ref, re.DOTALL)
        stem, number = (match[1], int(match[2])) if match else (ref, None)
        if found and number is not None and found[-1][:2] == (stem, number - 1):
            found[-1] = (stem, number, [*found[-1][2], ref])
        else:
            found.append((stem, number, [ref]))
    names: list[str] = []
    for _, _, run in found:
        names.extend(run if len(run) < 3 else [f"{run[0]} to {run[-1]}"])
    return tuple(names)


def refs(names: Sequence[str], *, limit: int | None = None) -> str:
    """References as a list in prose; with a limit on how many are named.

    A reference of figures alone is called a part, lest it be taken for a count.

    >>> refs(["U3", "U1", "U2", "U7"]), refs(["U1", "U3", "U5", "U7"], limit=2)
    ('U1 to U3 and U7', 'U1, U3 and 2 others')
    >>> refs(["7"]), refs(["1", "2", "3", "U7"])
    ('part 7', 'U7 and parts 1 to 3')
    """
    said = runs(visible(name) for name in names)
    told = [_FIGURES.sub(_as_part, name) for name in said]
    if limit is None or len(said) <= limit + 1:
        return listed(told)
    named = sum(1 for name in said[limit:] for _ in _members(name, names))
    return f"{', '.join(told[:limit])} and {named} others"


_FIGURES = re.compile(r"^[0-9]+(?P<run> to [0-9]+)?$")


def _as_part(found: re.Match[str]) -> str:
    return f"{'parts' if found['run'] else 'part'} {found[0]}"


def _members(run: str, names: Sequence[str]) -> list[str]:
    """The names that a run of ``runs`` stands for."""
    shown = sorted({visible(name) for name in names}, key=natural)
    if run in shown:
        return [run]
    first, last = run.split(" to ")
    return shown[shown.index(first) : shown.index(last) + 1]


def number(count: int) -> str:
    """A count in words below ten, in figures from ten.

    >>> number(1), number(9), number(10)
    ('one', 'nine', '10')
    """
    return _NUMBERS[count] if 0 <= count < len(_NUMBERS) else str(count)


def counted(count: int, one: str, many: str | None = None) -> str:
    """A count with its noun.

    >>> counted(1, "part"), counted(3, "part"), counted(12, "battery", "batteries")
    ('one part', 'three parts', '12 batteries')
    """
    return f"{number(count)} {one if count == 1 else many or one + 's'}"


def exactness(error: float) -> str:
    """How exactly probabilities were computed, given the largest error they can have.

    >>> exactness(0.0), exactness(3.2e-7)
    ('exactly', 'with an error of at most 3.2e-07')
    """
    return "exactly" if error == 0 else f"with an error of at most {error:.2g}"


def sentence(text: str) -> str:
    """A text with a capital first letter and a full stop at its end.

    >>> sentence("one part was replaced"), sentence("Why?"), sentence("cut short…")
    ('One part was replaced.', 'Why?', 'Cut short…')
    """
    text = text.strip()
    if not text:
        return ""
    text = begun(text)
    return text if text[-1] in ".!?:…" else f"{text}."


def clipped(text: str, words: int, letters: int = 90) -> str:
    """A text cut to so many words and letters, with an ellipsis where it was cut.

    >>> clipped("capacitors replaced all over the board", 2)
    'capacitors replaced…'
    """
    kept = text.split()
    short = " ".join(kept[:words])
    if len(short) > letters:
        return short[:letters].rstrip() + "…"
    return short + ("…" if len(kept) > words else "")


def visible(text: str) -> str:
    """A text from a file with every control, format and unassigned character spelled out.

    Lines are joined with ' / ', as in the survey file, so a marking stays on one line. What could
    move the cursor, change colours or turn the direction of writing is shown as its code.

    >>> visible("XR4558\\n7923"), visible("\\x1b[31mred"), visible("a\\u202eb")
    ('XR4558 / 7923', '\\\\x1b[31mred', 'a\\\\u202eb')
    """
    joined = on_one_line(text) if "\n" in text else text
    joined = joined.replace("\t", " ")
    if joined.isprintable() and joined.isascii():
        return joined
    return "".join(c if _is_shown(c) else _code(c) for c in joined)


def _is_shown(character: str) -> bool:
    kind = unicodedata.category(character)
    return character == " " or (kind[0] not in "CZ")


def _code(character: str) -> str:
    point = ord(character)
    if point < 0x100:
        return f"\\x{point:02x}"
    return f"\\u{point:04x}" if point < 0x10000 else f"\\U{point:08x}"
