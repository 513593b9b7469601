"""Year and month in Japanese, by the era or by the common year: ``昭和53年10月``, ``1978年10月``.

On labels of relays, transformers, displays and whole assemblies. Showa 1 is 1926, Heisei 1 is 1989,
Reiwa 1 is 2019; the first year of an era may be written 元. The letters S, H and R stand for the
eras as well. 製 may follow, which means made.

Source: JIS X 0301 (eras and their letters); common practice.

>>> [(p.form, p.year, p.unit, p.number) for p in propose("昭和53年10月")]
[('japanese_era.month', 1978, 'month', 10)]
>>> [(p.form, p.year, p.unit) for p in propose("1987年製")]
[('japanese_era', 1987, 'year')]
>>> [p.year for p in propose("H2年3月")], list(propose("昭和65年")), list(propose("53年10月"))
([1990], [], [])
>>> write(date(1978, 10, 12))
'昭和53年10月'
>>> write(date(1998, 10, 12))
'平成10年10月'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.form import NOTHING, NOWHERE, Form, proposing

KEY = "japanese_era"
NAME = "year and month in Japanese"
SOURCE = "JIS X 0301; common practice"
LENGTHS = {"-": (4, 16), "-0": (4, 16), "0-": (5, 16), "A0-": (3, 16)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_SHAPE = Expression(
    r"(?:(?P<era>昭和|平成|令和|[SHR](?=[0-9]))(?P<count>[0-9]{1,2}|元)|(?P<year>(?:19|20)[0-9]{2}))年"
    r"(?:(?P<month>0?[1-9]|1[0-2])月)?製?"
)
_FIRST = {"昭和": 1926, "S": 1926, "平成": 1989, "H": 1989, "令和": 2019, "R": 2019}
_YEARS = {"昭和": 64, "S": 64, "平成": 31, "H": 31, "令和": 99, "R": 99}
"""The years of each era, the first and the last begun included; the last era goes on."""


def forms(token: str) -> Iterator[Form]:
    """The year by its era, and the month; a token of such characters stands for itself."""
    if not (match := _SHAPE.fullmatch(token)):
        return
    if era := match["era"]:
        count = 1 if match["count"] == "元" else int(match["count"])
        if not 1 <= count <= _YEARS[era]:
            return
        year = _FIRST[era] + count - 1
    else:
        year = int(match["year"])
    at = slice(*match.span("count" if era else "year"))
    years = {token[at]: year}
    end = len(token.removesuffix("製"))
    if month := match["month"]:
        where = slice(*match.span("month"))
        yield Form(KEY + ".month", 0, end, at, years, 0, "month", where, {month: int(month)})
    else:
        yield Form(KEY, 0, end, at, years, 0, "year", NOWHERE, NOTHING)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme, by its era."""
    began = {"令和": date(2019, 5, 1), "平成": date(1989, 1, 8), "昭和": date(1926, 12, 25)}
    era = next(era for era, first in began.items() if day >= first)
    return f"{era}{day.year - _FIRST[era] + 1}年{day.month}月"
