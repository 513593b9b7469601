"""Quantities: a number with its unit, such as ``470UF``, ``250V~``, ``4K7`` or ``110MAH``.

Knows which numbers and units stand on parts. Leaves to the reader what that means for a date.

Figures with one letter behind may as well be a date with a line letter (``110A``). They count as
a quantity only where the figures are such as ratings and preferred values have, and then less
firmly; two characters (``5V``, ``6A``) count only beside other quantities, because they are the
IEC form of a date as well. Units of several letters, and signs that no house uses in a date, are
firm.

Sources: IEC 60063 (preferred values of resistors and capacitors, series E24); IEC 60062 (letters
in the place of the decimal point); the SI brochure (units); the rated values of voltage and
current, and units in capitals, are common practice.

>>> [firmness(text) for text in ("110MAH", "250V~", "0.5W", "12V", "4k7", "6A", "841V", "8405NS")]
['firm', 'firm', 'firm', 'usual', 'usual', 'beside others', '', '']
"""

from __future__ import annotations

import re
from typing import Literal

from provenance.markings.expression import Expression

Firmness = Literal["", "beside others", "usual", "firm"]

_PREFERRED = frozenset(
    ["10", "11", "12", "13", "15", "16", "18", "20", "22", "24", "27", "30", "33", "36", "39",
     "43", "47", "51", "56", "62", "68", "75", "82", "91"]
)  # fmt: skip
"""Series E24 of IEC 60063, the figures without their power of ten."""
_RATED = frozenset(
    ["1", "2", "3", "4", "5", "6", "7", "8", "9", "14", "23", "25", "32", "35", "40", "45", "48",
     "50", "60", "63", "80", "115", "125", "275", "315"]
)  # fmt: skip
"""Further figures of rated voltages, currents and powers, noughts behind left out."""

_FREQUENCY = r"[KMG]?HZ"
_LONG = r"MAH|[KM]?WH|V(?:AC|DC)|WVDC|[KM]?OHMS?|PPM|MFD"
_SHORT = r"[UNPM]F|[UNM]H|MA|AH|VA|WV|[KM][VW]|NS|[KM]?Ω|°C"
_SIGN = r"V[~=-]|A~|[±]?%"
_NUMBER = r"[0-9]{1,5}(?:[.,/][0-9]{1,6})?"
_SHAPE = Expression(
    r"(?:[0-9]{3}-(?=[0-9]{3}V)|[0-9]{2}-(?=[0-9]{2}HZ))?"  # A range: 220-240V.
    rf"(?P<number>{_NUMBER})-?(?:(?P<frequency>{_FREQUENCY})|(?P<long>{_LONG}|{_SIGN})"
    rf"|(?P<short>{_SHORT})|(?P<letter>[VAWRK]))(?:[0-9]{{1,3}}V[~=-]?)?"
)
_LAST = frozenset("ZHCMSDAFVWRKΩ~=-%")
"""The characters with which capitals of that shape can end."""
_IN_PLACE_OF_POINT = Expression(r"[0-9]{1,3}[RKMUNP][0-9]{1,2}")
"""4K7, 2M2: a letter for the decimal point; lower-case letters only, for capitals are lots too."""
_SMALL = Expression(rf"{_NUMBER}(?:[kpnuμ]|[mkμ]?[VAW])")


def figures_of(number: str) -> str:
    """The figures of a number without its point and the noughts at its ends.

    >>> figures_of("0.047"), figures_of("4700"), figures_of("1/4")
    ('47', '47', '14')
    """
    if not number.isdigit() or not number.isascii():
        number = re.sub("[^0-9]", "", number)
    return number.strip("0")


def is_usual_value(number: str) -> bool:
    """Whether a number is a preferred value or a usual rating.

    >>> is_usual_value("250"), is_usual_value("6.3"), is_usual_value("841")
    (True, True, False)
    """
    figures = figures_of(number)
    return figures in _RATED or figures.ljust(2, "0") in _PREFERRED


def is_value_code(text: str) -> bool:
    """Whether three figures are a preferred value and its power of ten (IEC 60062).

    >>> is_value_code("104"), is_value_code("841")
    (True, False)
    """
    return len(text) == 3 and text.isdigit() and text[:2] in _PREFERRED and text[2] <= "7"


def firmness(text: str) -> Firmness:
    """How firmly a token is a number with its unit; empty where it is none."""
    if len(text) < 2 or text.isdigit() or not text[0].isdigit():
        return ""
    if len(text) == 2:
        return "firm" if text[1] == "%" else "beside others" if text[1] in "VAWRK" else ""
    upper = text.upper().replace("Μ", "U")
    if text == upper and text[-1] not in _LAST:
        return ""
    if match := _SHAPE.fullmatch(upper):
        return _by_unit(match)
    small = text != upper and (_IN_PLACE_OF_POINT.fullmatch(upper) or _SMALL.fullmatch(text))
    return "usual" if small else ""


def _by_unit(match: re.Match[str]) -> Firmness:
    """How firmly figures with this unit are a quantity. Nothing is rated at nought."""
    number = match["number"]
    figures = len(figures_of(number))
    pointed = not number.isdigit()
    if match["letter"]:
        return "firm" if pointed else "usual" if is_usual_value(number) else ""
    most = 7 if match["frequency"] else 3 if match["long"] else 7 if pointed else 2
    return "firm" if 0 < figures <= most else ""
