"""Tokens: what one run of characters is by itself, whatever stands around it.

Knows which characters are alike or unreadable and asks ``families`` what part the run could name,
``quantities`` what value, and every scheme that fits its shape (``shapes``) what date. Leaves its
neighbours to ``surroundings``, and all weighing to ``spreading`` and ``reader``.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator
from functools import lru_cache
from typing import NamedTuple

from provenance.markings.expression import Expression
from provenance.markings.families import Family, FamilyMatch, family_of
from provenance.markings.quantities import Firmness, firmness
from provenance.markings.schemes import Proposal, proposals_of, proposed, sample_of
from provenance.markings.schemes.month_name import MONTHS
from provenance.markings.schemes.roman_month import ROMAN
from provenance.markings.shapes import (
    AROUND,
    MOST_UNREAD,
    Manner,
    Offering,
    Shape,
    Swap,
    manner_of,
    offering_of,
    shape_of,
    upper_of,
    words,
    words_since,
)

FAMILY_SLACK = 1
"""Years before a family's first-made year that are still allowed: the years are from memory."""

_SAME = str.maketrans(
    dict.fromkeys("’‘‛ʼ´`′＇", "'")
    | dict.fromkeys("‐‑‒–—―−﹣－", "-")
    | dict.fromkeys("�□▯？¿", "?")
    | dict.fromkeys("⁄∕／", "/")
    | dict.fromkeys("·•．", ".")
    | dict.fromkeys("“”„«»", '"')
)
"""Signs that are written in several ways; each becomes one character, so positions hold."""

LETTER_FOR_FIGURE = str.maketrans("ODISBZG", "0015826")
"""Letters that are taken for figures under a loupe: 0/O/D, 1/I, 5/S, 8/B, 2/Z, 6/G."""
_CONFUSABLE = "0123456789ODISBZG'./-"
"""Figures, letters like them, and signs between figures."""
_LIKE_FIGURES = frozenset("DSBZG")
_CODED = Expression(r"[A-Z]{2}[A-J][XYZ]")
"""Four letters that can be a coded year and month for all that."""
_PLACE = Expression(
    r"(?:IC|JP|CN|TP|VR|SW|CON|LED|XTAL)[0-9]{1,4}|(?:TR|RV|BR|FB|RN|LK|PL|SK|TB|CB)[0-9]{1,2}"
)
"""Places on a board, as printed beside the part: letters of its kind and a number. Letters are
those of IEEE 315 or common practice; single ones, and some pairs with more figures, may as well be
a plant's."""
_TURNED = str.maketrans("01689", "01986")
_TURNS = Expression(r"[01689]{3,4}")


When = tuple[int, int, str, int, int]
"""The numbers of a proposal: year, cycle, unit, number and last number."""
Offers = tuple[tuple[Manner, ...], tuple[When, ...]]
"""Every proposal for a token: how each is written, and when each would be."""
NO_OFFERS: Offers = (), ()


class Look(NamedTuple):
    """What a token is by itself."""

    text: str
    kind: str
    """``country``, ``unit`` and so on from the table of words; ``part``, ``quantity``, ``code``,
    ``number``, ``word``, ``sign``; ``unread`` where too much of it is."""
    why: str
    shape: Shape
    family: FamilyMatch | None
    offers: Offers
    short: bool = False
    """A single character, or a figure and a letter."""
    given_up: bool = False
    """Too many characters are unread."""
    quantity: Firmness = ""
    """How firmly it is a number with its unit."""
    own_key: str = ""
    """The circumstance that the token is itself a part number, if it is."""
    first_year: int = 0
    """Before this year the family of a part number was not made, or a word not used; 0 where that
    is not known."""
    use: str = ""
    """The kind of its family, where that bears on dates: ``supply`` (or reset) chip, ``battery``,
    ``memory``, ``film resistor`` (without its value); ``cyrillic`` where the numbering is,
    ``2S numbering`` of transistors, ``leading 5`` and ``east``; ``dated word`` of a word that was
    not always used."""


def _plain_character(char: str) -> str:
    """One character in its plain form; unchanged where the plain form is longer or a circle."""
    plain = unicodedata.normalize("NFKC", char)
    if len(plain) != 1 or "CIRCLED" in unicodedata.name(char, ""):
        return char
    return plain


def plain(marking: str) -> str:
    """A marking with full-width and other variant characters made plain, at equal length.

    >>> plain("Ｈ７８４１　－ ８’31")
    "H7841 - 8'31"
    """
    if marking.isascii():
        return marking
    marking = marking.translate(_SAME)
    return "".join(char if char.isascii() else _plain_character(char) for char in marking)


def look(text: str) -> Look:
    """What a token is by itself. ``text`` is plain, without spaces."""
    shape = shape_of(text)
    upper = text if shape.in_capitals else upper_of(_typed_ones(text))
    bare = upper[shape.start : shape.end]
    if shape.may_be_word and (kind := words().get(upper) or words().get(bare)):
        # NO is a word and the IEC code of October as well, which is in capitals.
        two = len(upper) == 2 and text == upper
        offers = _offers(upper, offering_of(sample_of(upper))) if two else NO_OFFERS
        why = "as it stands before a design year" if kind == "copyright" else f"a known {kind}"
        since = words_since().get(bare, 0)
        use = "dated word" if since else ""
        return Look(text, kind, why, shape, None, offers, len(text) == 1, first_year=since, use=use)
    if shape.settled:
        return Look(text, *shape.settled, shape, None, NO_OFFERS)
    if shape.is_four_letters and not _CODED.fullmatch(bare):
        return Look(text, "word", "letters only", shape, None, NO_OFFERS)
    return _look_closer(text, bare, shape)


def _typed_ones(text: str) -> str:
    """A token of figures with a small l, as typed for a 1, with the letter that looks like both.

    >>> _typed_ones("8l31"), _typed_ones("8l"), _typed_ones("2l14L")
    ('8I31', '8l', '2l14L')
    """
    return text.replace("l", "I") if _WITH_SMALL_L.fullmatch(text) else text


_WITH_SMALL_L = Expression(r"(?=(?:.*[0-9]){2})[0-9l]{3,6}")


def _look_closer(text: str, bare: str, shape: Shape) -> Look:
    """What a token with figures is: part number, number or code, and its offers."""
    family = family_of(bare)
    as_written = text[shape.start : shape.end]
    offers = _offers(as_written if len(bare) == 2 else bare, shape.offering, shape.start)
    if family:
        return _part(text, shape, family, offers)
    if _PLACE.fullmatch(bare):
        return Look(text, "place", "a place on the board", shape, None, NO_OFFERS, shape.short)
    if shape.bare_is_figures:
        return Look(text, "number", "figures only", shape, None, offers, shape.short)
    quantity: Firmness = firmness(as_written) if shape.may_be_quantity else ""
    if quantity in ("firm", "usual"):
        why = "a number with its unit"
        return Look(text, "quantity", why, shape, None, offers, shape.short, quantity=quantity)
    kind, why = "code", "a short code"
    if shape.is_long_mix and not offers[0]:
        kind, why = "part", "letters and figures, built like a part number"
    elif shape.given_up:
        kind, why = "unread", "too few characters can be read"
    return Look(text, kind, why, shape, None, offers, shape.short, shape.given_up, quantity)


def _part(text: str, shape: Shape, family: FamilyMatch, offers: Offers) -> Look:
    """A part number of a known family."""
    why, first_year = family.family.what, 0
    if first_made := family.family.first_made:
        why += f", made since about {first_made}"
        first_year = first_made - FAMILY_SLACK
    return Look(
        text,
        "part",
        why,
        shape,
        family,
        offers,
        shape.short,
        own_key=_own_key(family),
        first_year=first_year,
        use=_use(family.family),
    )


def _use(family: Family) -> str:
    """What of a family bears on dates."""
    if family.kind == "transistor" and "2S" in family.what:
        return "2S numbering"
    habit = next((use for sign, use in _HABITS.items() if sign in family.what), "")
    return habit or (family.kind if family.kind in _USES else "")


_HABITS = {"Cyrillic": "cyrillic", "leading 5": "leading 5", "East European": "east"}
"""Numberings whose parts write their dates in a manner of their own, by what is said of them."""


_USES = ("supply", "battery", "memory", "film resistor")


def turned_over(piece: Look) -> str | None:
    """The figures of a token upside down, where both ways up are a date.

    >>> turned_over(look("6819")), turned_over(look("7841"))
    ('6189', None)
    """
    bare = piece.text.strip(AROUND)
    if not piece.offers[0] or not _TURNS.fullmatch(bare):
        return None
    other = bare[::-1].translate(_TURNED)
    return other if other != bare and proposals_of(other) else None


def _own_key(family: FamilyMatch) -> str:
    """How much a family says against the same characters' being a date."""
    if len(family.prefix) > 1:
        return "@family_lettered"
    if family.prefix:
        return "@family_one_letter"
    if family.family.kind in ("crystal", "resistor", "film resistor", "battery"):
        return "@family_other"
    if not family.number.isdigit():
        return "@family_lettered"
    if family.family.kind == "supply":
        return "@family_supply"
    return "@family_suffix" if family.suffix else "@family_alone"


def _offers(text: str, offering: Offering, start: int = 0) -> Offers:
    """Every proposal for a token, as it stands and with alike or unread characters replaced."""
    if offering.is_unread:
        return _with_characters(text, start)
    manners, whens = _found(text, offering, start)
    _, _, _, _, in_figures, swaps, swaps_need = offering
    if in_figures and not text.strip(_CONFUSABLE):
        # Houses that use letters avoid O and I, just because they look like figures.
        avoided, others = in_figures
        way = avoided if _LIKE_FIGURES.isdisjoint(text) else others
        more = _found(text.translate(LETTER_FOR_FIGURE), way, start)
        manners += more[0]
        whens += more[1]
    if swaps and ("1" in text or "7" in text) and (not swaps_need or swaps_need in manners):
        for manner, when in _with_sevens(text, swaps):
            manners.append(manner)
            whens.append(when)
    return tuple(manners), tuple(whens)


def _found(text: str, offering: Offering, start: int) -> tuple[list[Manner], list[When]]:
    """Proposals for a token by manner and numbers, no character replaced."""
    ways, trials, own, *_ = offering
    manners: list[Manner] = []
    whens: list[When] = []
    for at_year, years, at_number, numbers, manner, unit, until in ways:
        number = numbers.get(text[at_number])
        if number is not None and (year := years.get(text[at_year])) is not None:
            manners.append(manner)
            whens.append((year, manner[4], unit, number, until))
    if trials:
        for proposal in proposed(text, trials):
            manners.append(manner_of(proposal, start, own))
            whens.append(proposal[3:])
    return manners, whens


def _with_sevens(text: str, swaps: Iterable[Swap]) -> Iterator[tuple[Manner, When]]:
    """What a token may be with a 1 for a 7 or the other way round."""
    for (at_year, years, at_number, numbers, manner, unit, until), by_year, by_number in swaps:
        in_year, in_number = text[at_year], text[at_number]
        cycle = manner[4]
        if in_year in by_year and in_number in numbers:
            for year in by_year[in_year]:
                yield manner, (year, cycle, unit, numbers[in_number], until)
        if in_number in by_number and in_year in years:
            for number in by_number[in_number]:
                yield manner, (years[in_year], cycle, unit, number, until)


def _with_characters(text: str, start: int) -> Offers:
    """Proposals for a token with ``?`` in it: every character that makes a date is tried.

    Numbers that follow one another in one year become one proposal: ``78??`` is the year.
    """
    count = text.count("?")
    if count > MOST_UNREAD or count >= len(text) - (len(text) < 4):
        return NO_OFFERS
    alphabet = "0123456789ABCDEFGHJKLMNOPRSTUVWXYZ" if len(text) <= 3 else "0123456789A"
    pieces = text.split("?")
    fillings: Iterable[str] = ("",)
    for _ in range(count):
        fillings = [before + char for before in fillings for char in alphabet]
    between = _BETWEEN_FIGURES.compiled.search(text) is not None
    found: dict[tuple[tuple[str, int, int, int, int, str], bool], set[int]] = {}
    for filling in fillings:
        filled = pieces[0] + "".join(map("".join, zip(filling, pieces[1:], strict=True)))
        odd = between and not all(map(str.isdigit, filling))
        for offer in proposals_of(filled):
            found.setdefault((offer[:6], odd), set()).add(offer.number)
    manners, whens = [], []
    for (key, odd), numbers in found.items():
        own = ("@unread", "@unread_letter") if odd else ("@unread",)
        runs = sorted(numbers)
        begin = previous = runs[0]
        for number in [*runs[1:], 0]:
            if number == previous + 1:
                previous = number
                continue
            run = previous - begin + 1
            until = previous if run > 1 else 0
            proposal = Proposal(*key, begin, until)
            manners.append(manner_of(proposal, start, own, run / 10**count))
            whens.append(proposal[3:])
            begin = previous = number
    return tuple(manners), tuple(whens)


_BETWEEN_FIGURES = Expression(r"[0-9]{2}\?+[0-9]")
"""What cannot be read between figures is rather a figure than a letter."""
_HALF = Expression(r"[A-Z]{0,2}[0-9]{1,2}")
_YEARS = Expression(r"'?[0-9]{2}|(?:19|20)[0-9]{2}")
_FULL_YEAR = Expression(r"(?:19|20)[0-9]{2}")
_WEEK_AND_YEAR = Expression(
    r"(?:WEEK|WK\.?|KW) ([0-9]{1,2}) ([0-9]{4})"
    r"|([0-9]{1,2})\.? ?(?:WEEK|WK\.?|KW) ((?:[0-9]{2}){1,2})"
)
"""A week with its word before or behind, and the year: ``WEEK 41 1978``, ``41. KW 78``."""


@lru_cache(maxsize=65536)
def look_across(texts: tuple[str, ...]) -> tuple[Proposal, ...]:
    """What two or three tokens mean together: ``78 41``, ``H8 41``, ``NOV 78``, ``12 10 78``.

    Positions are in the tokens joined by single spaces.
    """
    first, last = texts[0].upper(), texts[-1].upper()
    joined = " ".join(texts).upper()
    offers: list[Proposal] = []
    if not _YEARS.fullmatch(last):
        return ()
    if "K" in joined and (match := _WEEK_AND_YEAR.fullmatch(joined)):
        week, year = (match[1], match[2]) if match[1] else (match[3], match[4])
        found = proposals_of(f"{week:0>2} {year}")
        week_first = (offer for offer in found if offer.form.startswith("week_year."))
        offers += (offer._replace(end=len(joined)) for offer in week_first)
    elif len(texts) == 3:
        middle = texts[1].upper()
        day = first.isdigit() and len(first) <= 2
        month = middle in MONTHS or middle in ROMAN or (middle.isdigit() and len(middle) < 3)
        day_behind = first in MONTHS and middle.removesuffix(",").isdigit() and len(last) == 4
        if (day and month) or day_behind:
            offers += proposals_of(joined)
    elif first in MONTHS or first in ROMAN:
        offers += proposals_of(joined)
    elif len(last) == 2 and (_HALF.fullmatch(first) or _FULL_YEAR.fullmatch(first)):
        offers += (offer for offer in proposals_of(joined) if offer.form != "full_year")
        if not first.isdigit():
            # A plant letter with the year, a gap, the week.
            before = "year_week_plant." if len(first) > 2 else "short_year_week_plant.before"
            closed = (
                offer for offer in proposals_of(first + last) if offer.form.startswith(before)
            )
            offers += (offer._replace(end=offer.end + 1) for offer in closed)
    return tuple(offers)
