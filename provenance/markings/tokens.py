"""Tokens: what one run of characters is by itself, whatever stands around it.

Knows which characters are alike or unreadable, common words, part-number families, and asks every
scheme what the run could mean as a date. Leaves its neighbours, and all weighing, to ``reader``.
"""

from __future__ import annotations

import csv
import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

from provenance.markings.families import FamilyMatch, family_of
from provenance.markings.quantities import Firmness, firmness
from provenance.markings.schemes import (
    Proposal,
    proposals_of,
    short_year_week,
    year_week,
    year_week_lot,
    year_week_plant,
)
from provenance.markings.schemes.month_name import MONTHS
from provenance.markings.schemes.roman_month import ROMAN

LONGEST_DATED = 24
"""Characters of the longest token in which a date is looked for."""
_AROUND = ',;:()[]{}"'
"""Signs around a token that are no part of it."""
FAMILY_SLACK = 1
"""Years before a family's first-made year that are still allowed: the years are from memory."""
_MOST_UNREAD = 2
"""Unreadable characters in a token beyond which it is given up: too many dates would fit."""

_SAME = str.maketrans(
    dict.fromkeys("’‘‛ʼ´`′＇", "'")
    | dict.fromkeys("‐‑‒–—―−﹣－", "-")
    | dict.fromkeys("�□▯？¿", "?")
    | dict.fromkeys("⁄∕／", "/")
    | dict.fromkeys("·•．", ".")
)
"""Signs that are written in several ways; each becomes one character, so positions hold."""

LETTER_FOR_FIGURE = str.maketrans("ODISBZG", "0015826")
"""Letters that are taken for figures under a loupe: 0/O/D, 1/I, 5/S, 8/B, 2/Z, 6/G."""
_CONFUSABLE = re.compile(r"[0-9ODISBZG'./-]{3,7}")
_ONE_SEVEN = {"1": "7", "7": "1"}
_CODED = re.compile(r"[A-Z]{2}[A-J][XYZ]")
"""Four letters that can be a coded year and month for all that."""
_TURNED = str.maketrans("01689", "01986")
_TURNS = re.compile(r"[01689]{3,4}")


Bare = tuple[str, int, int, int, int, str, int, int]
"""The fields of a Proposal as a plain tuple, which costs less to keep by the thousand."""
Offer = tuple[Bare, tuple[str, ...], float]
"""A proposal; its form and the circumstances of the token itself; a factor for what is unread."""


class Look(NamedTuple):
    """What a token is by itself."""

    text: str
    kind: str
    """``country``, ``unit`` and so on from the table of words; ``part``, ``quantity``, ``code``,
    ``number``, ``word``, ``sign``."""
    why: str
    family: FamilyMatch | None
    offers: tuple[Offer, ...]
    short: bool = False
    """A single character, or a figure and a letter."""
    given_up: bool = False
    """Too many characters are unread."""
    own_key: str = ""
    """The circumstance that the token is itself a part number, if it is."""
    quantity: Firmness = ""
    """How firmly it is a number with its unit."""
    first_year: int = 0
    """Before this year the family of a part number was not made; 0 where that is not known."""
    supply: bool = False
    """Whether it is a supply or reset chip."""


@lru_cache(maxsize=1)
def words() -> dict[str, str]:
    """Words that stand on parts beside the date, and their kind."""
    text = Path(__file__).with_name("words.csv").read_text(encoding="utf-8")
    return {row["word"]: row["kind"] for row in csv.DictReader(text.splitlines())}


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
    if len(text) > LONGEST_DATED:
        return Look(text, "code", "too long for a date", None, ())
    upper = text.upper()
    if len(upper) != len(text):
        upper = text
    bare = upper.strip(_AROUND) or upper
    known = words()
    if kind := known.get(upper) or known.get(bare):
        # NO is a word and the IEC code of October as well, which is in capitals.
        offers = tuple(_offers(upper)) if len(upper) == 2 and text == upper else ()
        return Look(text, kind, f"a known {kind}", None, offers, short=len(text) == 1)
    if bare.isalpha():
        small = len(bare) == 2 and text != upper
        if small or (bare.isascii() and len(bare) > 2 and not _CODED.fullmatch(bare)):
            return Look(text, "word", "letters only", None, ())
    elif not bare.isalnum() and not any(map(str.isalnum, bare)):
        return Look(text, "sign", "no letter or figure", None, ())
    shift = len(upper) - len(upper.lstrip(_AROUND)) if len(bare) < len(upper) else 0
    return _look_closer(text, bare, shift)


def _look_closer(text: str, bare: str, shift: int) -> Look:
    """What a token with figures is: part number, number or code, and its offers."""
    family = family_of(bare)
    # Two characters keep their case: a small letter can be a week.
    offers = tuple(_offers(text[shift : shift + 2] if len(bare) == 2 else bare))
    if shift:
        offers = tuple(_shifted(offer, shift) for offer in offers)
    short = len(bare) == 1 or (len(bare) == 2 and not bare.isdigit())
    if family:
        return _part(text, family, offers, short)
    if bare.isdigit():
        return Look(text, "number", "figures only", None, offers, short)
    quantity = firmness(text[shift : shift + len(bare)])
    if quantity in ("firm", "usual"):
        why = "a number with its unit"
        return Look(text, "quantity", why, None, offers, short, quantity=quantity)
    long_mix = len(bare) >= 6 and any(map(str.isalpha, bare)) and any(map(str.isdigit, bare))
    kind = "part" if long_mix and not offers else "code"
    why = "letters and figures, built like a part number" if kind == "part" else "a short code"
    given_up = text.count("?") > _MOST_UNREAD
    return Look(text, kind, why, None, offers, short, given_up, quantity=quantity)


def _part(text: str, family: FamilyMatch, offers: tuple[Offer, ...], short: bool) -> Look:
    """A part number of a known family."""
    why, first_year = family.family.what, 0
    if first_made := family.family.first_made:
        why += f", made since about {first_made}"
        first_year = first_made - FAMILY_SLACK
    return Look(
        text,
        "part",
        why,
        family,
        offers,
        short,
        own_key=_own_key(family),
        first_year=first_year,
        supply=family.family.kind == "supply",
    )


def turned_over(piece: Look) -> str | None:
    """The figures of a token upside down, where both ways up are a date.

    >>> turned_over(look("6819")), turned_over(look("7841"))
    ('6189', None)
    """
    bare = piece.text.strip(_AROUND)
    if not piece.offers or not _TURNS.fullmatch(bare):
        return None
    other = bare[::-1].translate(_TURNED)
    return other if other != bare and proposals_of(other) else None


def _shifted(offer: Offer, shift: int) -> Offer:
    """An offer so many characters further on."""
    bare, keys, factor = offer
    return (bare[0], bare[1] + shift, bare[2] + shift, *bare[3:]), keys, factor


def _own_key(family: FamilyMatch) -> str:
    """How much a family says against the same characters' being a date."""
    if len(family.prefix) > 1:
        return "@family_lettered"
    if family.prefix:
        return "@family_one_letter"
    if family.family.kind in ("crystal", "resistor", "battery"):
        return "@family_other"
    if not family.number.isdigit():
        return "@family_lettered"
    if family.family.kind == "supply":
        return "@family_supply"
    return "@family_suffix" if family.suffix else "@family_alone"


def _offers(text: str) -> Iterator[Offer]:
    """Every proposal for a token, as it stands and with alike or unread characters replaced."""
    if "?" in text:
        yield from _unread(text)
        return
    if text.isalpha() and len(text) not in (2, 4):
        return
    plainly = proposals_of(text)
    for proposal in plainly:
        yield proposal[:], (proposal.form,), 1.0
    upper = text.upper()
    if not text.isdigit() and _CONFUSABLE.fullmatch(upper):
        figures = upper.translate(LETTER_FOR_FIGURE)
        if figures != upper and sum(map(str.isdigit, upper)) >= 2:
            # Houses that use letters avoid O and I, just because they look like figures.
            avoided = not set(upper) & set("DSBZG")
            key = "@o_or_i_for_figure" if avoided else "@letter_for_figure"
            for proposal in proposals_of(figures):
                yield proposal[:], (proposal.form, key), 1.0
    if 3 <= len(text) <= 5 and ("1" in text or "7" in text):
        for propose in _propose_again(text, plainly):
            for place, char in enumerate(text):
                if other := _ONE_SEVEN.get(char):
                    for proposal in propose(text[:place] + other + text[place + 1 :]):
                        yield proposal[:], (proposal.form, "@one_seven"), 1.0


def _propose_again(
    text: str, plainly: Iterable[Proposal]
) -> Iterator[Callable[[str], Iterator[Proposal]]]:
    """The schemes that are tried with a 1 for a 7: years and weeks of figures, or with a plant."""
    if text.isdigit():
        yield (short_year_week if len(text) == 3 else year_week).propose
        return
    for proposal in plainly:
        if proposal.form.startswith("year_week_"):
            plant = proposal.form.startswith("year_week_plant")
            yield (year_week_plant if plant else year_week_lot).propose
            return


def _unread(text: str) -> Iterator[Offer]:
    """Proposals for a token with ``?`` in it: every character that makes a date is tried.

    Numbers that follow one another in one year become one proposal: ``78??`` is the year.
    """
    count = text.count("?")
    if count > _MOST_UNREAD or count >= len(text) - (len(text) < 4):
        return
    alphabet = "0123456789ABCDEFGHJKLMNOPRSTUVWXYZ" if len(text) <= 3 else "0123456789A"
    pieces = text.split("?")
    fillings: Iterable[str] = ("",)
    for _ in range(count):
        fillings = [before + char for before in fillings for char in alphabet]
    found: dict[tuple[str, int, int, int, int, str], set[int]] = {}
    for filling in fillings:
        filled = pieces[0] + "".join(map("".join, zip(filling, pieces[1:], strict=True)))
        for offer in proposals_of(filled):
            found.setdefault(offer[:6], set()).add(offer.number)
    factor = 10.0**-count
    for key, numbers in found.items():
        runs = sorted(numbers)
        begin = previous = runs[0]
        for number in [*runs[1:], 0]:
            if number == previous + 1:
                previous = number
                continue
            run = previous - begin + 1
            until = previous if run > 1 else 0
            yield (*key, begin, until), (key[0], "@unread"), factor * run
            begin = previous = number


_HALF = re.compile(r"[A-Z]{0,2}[0-9]{1,2}")
_YEARS = re.compile(r"'?[0-9]{2}|(?:19|20)[0-9]{2}")
_FULL_YEAR = re.compile(r"(?:19|20)[0-9]{2}")


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
    if len(texts) == 3:
        middle = texts[1].upper()
        day = first.isdigit() and len(first) <= 2
        if day and (middle in MONTHS or middle in ROMAN or (middle.isdigit() and len(middle) < 3)):
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
