"""Dates as a survey writes them: EDTF text in, first and last day out, or the likely fix.

Knows what people type where EDTF (ISO 8601-2:2019) is meant, and takes the week dates of
ISO 8601-1 too, since stamps often name a week. Which days an EDTF date allows is in
``provenance.weeks``; what a date means for a board is left to the inference.

>>> edtf_days("1979-08")
Days(first=datetime.date(1979, 8, 1), last=datetime.date(1979, 8, 31), qualifier='')
>>> edtf_days("1977/..").last is None
True
>>> in_edtf("1979-W33")
'1979-08-13/1979-08-19'
"""

from __future__ import annotations

import re
from datetime import date, datetime
from typing import NamedTuple

from provenance.weeks import parse_edtf_interval

_LONGEST = 40
_WEEK_DATE = re.compile(r"[0-9]{4}-?W[0-9]{2}(-?[1-7])?", re.ASCII)


class Days(NamedTuple):
    """The days that a date allows, both included; ``None`` is an open end.

    ``qualifier`` holds EDTF's marks: ``~`` approximate, ``?`` uncertain, ``%`` both; empty for
    none. The days are those of the date as written: a qualifier does not widen them.
    """

    first: date | None
    last: date | None
    qualifier: str = ""

    @property
    def certain(self) -> bool:
        """Whether the date stands without a qualifier."""
        return not self.qualifier


class DateError(ValueError):
    """A text is not a date that can be used; ``problem`` and ``fix`` are plain sentences."""

    def __init__(self, problem: str, fix: str) -> None:
        super().__init__(problem)
        self.problem = problem
        self.fix = fix


def in_edtf(text: str) -> str:
    """A date in EDTF: the text itself, or a week date of ISO 8601-1 as the days it names.

    Raises DateError with the likely fix where the text is neither.
    """
    text = text.strip()
    if (week := _WEEK_DATE.fullmatch(text)) is not None:
        # Loaded when first needed: most surveys hold no week date.
        from dateutil.parser import isoparser  # noqa: PLC0415
        from dateutil.relativedelta import relativedelta  # noqa: PLC0415

        try:
            first = isoparser().parse_isodate(text)
            # isoparser rolls a week 53 that a year does not have over into the next year.
            there_is = first.isocalendar().week == int(text.replace("-", "")[5:7])
        except ValueError:
            there_is = False
        if not there_is:
            raise DateError(
                f"there is no week '{text}'", "weeks run from 01 to 52, in some years 53"
            )
        if week[1]:
            return first.isoformat()
        return f"{first.isoformat()}/{(first + relativedelta(days=6)).isoformat()}"
    edtf_days(text)
    return text


def edtf_days(text: str) -> Days:
    """The first and last day that an EDTF date allows. Raises DateError with the likely fix."""
    text = text.strip()
    if len(text) > _LONGEST:
        raise DateError("this is too long for a date", "write a date such as 1979-08-02")
    try:
        first, last = parse_edtf_interval(text)
    except ValueError as error:
        problem = str(error)
        if "is not a date" in problem:  # Name the whole text, and say what to write but once.
            problem = f"'{text}' is not a date in EDTF"
        raise DateError(problem, _likely(text)) from None
    return Days(first, last, "".join(mark for mark in "~?%" if mark in text))


_COMMON_SLIPS = (
    (r"([0-9]{2})", r"write the year in full, such as 19\1"),
    (r"([0-9]{4})\s*(?:-|–|—|to|\.\.)\s*([0-9]{4})", r"write \1/\2"),
    (r"(?i)(?:c|ca|circa|about)\b\.?\s*([0-9]{4})", r"write \1~ for about \1"),
    (r"([0-9]{3})0s", r"write \1X"),
    (r"[0-9]{4}-(?:1[3-9]|[2-9][0-9]|00)(?:-.*)?", "months run from 01 to 12"),
    (r"([0-9]{4}-[0-9]{2})-[0-9]{2}", r"write \1 if the day is in doubt"),
    (r"\d{1,2}([./-])\d{1,2}\1\d{2,4}", "write year-month-day, such as 1979-08-02"),
)
"""What people write where EDTF is meant, and what to write instead (common practice). Left as text
until a date is wrong, which few are."""


def _likely(text: str) -> str:
    """What to write instead of a text that is not EDTF."""
    start, slash, end = text.partition("/")
    if slash and _is_edtf(f"{end}/{start}"):
        return f"write {end}/{start}"
    if _is_edtf(text.upper()):
        return f"write {text.upper()}"
    for slip, fix in _COMMON_SLIPS:
        if (match := re.fullmatch(slip, text)) is not None:
            return match.expand(fix)
    guess = _from_words(text)
    return f"write {guess or '1979, 1979-08, 1979-08-02, 197X, or an interval such as 1977/1983'}"


def _is_edtf(text: str) -> bool:
    try:
        parse_edtf_interval(text)
    except ValueError:
        return False
    return True


def _from_words(text: str) -> str | None:
    """The EDTF form of a date in words or without leading zeros, where dateutil can read it.

    Read twice with different defaults: what differs between the two was not in the text.
    """
    if not re.search(r"[0-9]{4}", text):
        return None
    from dateutil.parser import parse as parse_words  # noqa: PLC0415 - for a wrong date only

    try:
        one = parse_words(text, default=datetime(2001, 1, 1))
        two = parse_words(text, default=datetime(2004, 2, 2))
    except (ValueError, OverflowError, TypeError):
        return None
    if one.year != two.year:
        return None
    if one.month != two.month:
        return f"{one:%Y}"
    return f"{one:%Y-%m}" if one.day != two.day else f"{one:%Y-%m-%d}"
