"""How a marking falls into tokens, and what stands around each of them.

Knows lines, neighbours and copyright years, and names the circumstances that bear on a date (the
rows of ``weights.csv`` that begin with ``@``). Leaves to ``tokens`` what one token is by itself,
and to ``spreading`` what the circumstances weigh.

What a token means to its neighbours is its role. Markings whose tokens have the same roles in the
same order have the same circumstances, so these are worked out once for each such row of roles.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from operator import itemgetter
from threading import Lock
from typing import NamedTuple

from provenance.markings.expression import Expression
from provenance.markings.kept import Kept
from provenance.markings.quantities import Firmness, is_usual_value, is_value_code
from provenance.markings.reasons import reasons_of
from provenance.markings.shapes import Manner
from provenance.markings.tokens import Look, When, look
from provenance.markings.weights import odds_of

ONLY, ALONE, FIRST, SUPPLY, BEFORE_NUMBER, BATTERY = 1, 2, 4, 8, 16, 32
CYRILLIC, BOARD, VALUED, AFTER_WEEK, UPPER = 64, 128, 256, 512, 1024
TRANSISTOR, LETTERED_LAST, BELOW, LAST_BEHIND, AFTER_DATE = 2048, 4096, 8192, 16384, 32768
LEADING_FIVE, EAST, GAP = 65536, 131072, 262144
"""Surroundings that mean something for some forms only: all that is marked, alone on its line,
first of several, beside a supply chip, before a number, on a battery; on a part with Cyrillic
letters, on a bare board, behind values, behind a word for a week, first where no part is known; on
a transistor of 2S numbering, like a part number but last behind another, on a line below, last
behind a part number, behind a word for a date; on parts of a numbering with a leading 5, or of
East European numbering; with a gap inside."""
_MOST_KEPT = 16
"""Tokens of the longest marking whose plan is kept for others like it."""
_MOST_MET = 65536
"""Tokens that are kept."""

_TOKEN = Expression(
    r"\([CMPcmp]\)|[©®ⒸⓒⓂⓜ℗]|[^\s\x00-\x20\x7f-\xa0©®ⒸⓒⓂⓜ℗]+|[\n\v\f\r\x85\u2028\u2029]"
)
_is_simple = re.compile(r"[ !-'*-.0-{}~]*").fullmatch
"""Text that has but spaces between its tokens: no brackets, slashes, bars or control characters."""
_BREAKS = frozenset("\n\v\f\r\x85\u2028\u2029/|")
_COPYRIGHT_YEAR = Expression(r"(?:'?[5-9][0-9]|(?:19[5-9]|20[0-4])[0-9])[,.]?")


class Role(NamedTuple):
    """What a token means to the circumstances of its marking."""

    kind: str
    short: bool
    has_offers: bool
    own_key: str
    certain: bool
    """A part number that can hardly be anything else."""
    use: str
    quantity: Firmness
    is_usual_value: bool
    is_value_code: bool
    is_pair: bool
    """Two letters."""
    ends: int
    """How it can be the last of several tokens that are a date together: two figures (1), a year
    behind the name of a month (2), not at all (0)."""
    is_letters: bool
    is_long: bool
    """Too long to be the first of several tokens that are a date together."""
    is_cell: bool
    """Figures as a spreadsheet would write them."""


Spot = tuple[int, int, tuple[str, ...], float, tuple[str, ...]]
"""The circumstances of a token in which at least one scheme sees a date: its place; those that mean
something for some forms only; those that every proposal in the token shares, with what they weigh
together and their reasons in words."""


class Plan(NamedTuple):
    """The circumstances of every token in a row of roles."""

    spots: tuple[Spot, ...]
    ends: tuple[tuple[int, tuple[str, ...]], ...]
    """Places at which a date of several tokens may end, with the circumstances of the place."""
    against: tuple[str, ...]
    """Circumstances that speak for 'no date here', where anything speaks for one."""
    odds_against: float
    """What they weigh."""
    parts: tuple[int, ...]
    """Places of part numbers."""
    bounds: tuple[int, ...]
    """Places of what was not made, or not used, before some year."""
    is_cell: bool
    is_memory: bool
    """Whether the part is a memory, which may bear a label."""


class Layout(NamedTuple):
    """A plain text as tokens in their surroundings."""

    text: str
    texts: list[str]
    lines: tuple[int, ...]
    """The line of each token; empty where there is but one."""
    met: list[Met]
    copyright_years: dict[int, int]
    """By the place of their token."""
    plan: Plan

    def start(self, place: int) -> int:
        """Where a token begins in the text."""
        before = " ".join(self.texts[: place + 1])
        # Hardly any text has more than one space between its tokens.
        if self.text.startswith(before):
            return len(before) - len(self.texts[place])
        return self.starts()[place]

    def starts(self) -> list[int]:
        """Where each token begins in the text."""
        starts, end = [], 0
        for piece in self.texts:
            start = self.text.index(piece, end)
            starts.append(start)
            end = start + len(piece)
        return starts

    def line(self, place: int) -> int:
        """The line of a token, the first being 0."""
        return self.lines[place] if self.lines else 0


_TWO_SIGNS = (
    "iec_letters",
    "iec_letters.letters",
    "year_digit_month.letter",
    "year_digit_month.figure",
)
_CODED = ("coded_year_month", "coded_year_month.figure", "coded_year_month.letters")
_BESIDE = (
    (
        SUPPLY,
        ("year_month_lot", "year_month_lot.figures", "year_month_lot.second", "year_week"),
        "{}@supply",
    ),
    (CYRILLIC, ("month_year", "month_year.dotted_short", "year_month"), "{}@cyrillic"),
    (TRANSISTOR, ("year_digit_month.letter",), "{}@transistor"),
    (
        LETTERED_LAST,
        ("year_week_plant.two", "year_week_plant.three", "year_week_plant.four"),
        "@lettered_last",
    ),
    (LAST_BEHIND, ("year_week_plant.two", "year_week_plant.four"), "{}@last_behind"),
    (BELOW, ("week_year",), "{}@below"),
    (AFTER_DATE, ("year_day",), "{}@dated"),
    (LEADING_FIVE, ("short_year_week_lot.six",), "{}@leading_five"),
    (EAST, ("iec_letters",), "{}@east"),
    (GAP, ("year_month.separated",), "@spaced_month"),
    (BOARD, ("week_year", "year_week_plant.lot"), "{}@board"),
    (VALUED, ("iec_letters", "iec_letters.letters"), "{}@valued"),
    (VALUED, ("month_year", "month_year.separated", "month_year.dotted_short"), "{}@valued"),
    (VALUED, ("week_year", "week_year.separated"), "{}@valued"),
    # A battery's is usually all that is marked.
    (BATTERY | ONLY, ("year_month.separated",), "{}@battery"),
    (
        AFTER_WEEK,
        ("month_year.separated", "month_year.full", "month_year.dotted", "year_month.separated",
         "year_week.separated_month"),
        "@month_after_week_word",
    ),
    (
        UPPER,
        (
            "year_week_lot.letter",
            "year_week_plant.one",
            "year_week_plant.three",
            "year_week_plant.four",
            "year_digit_month.figures_long_lot",
        ),
        "@upper_code",
    ),
    (ALONE, _TWO_SIGNS, "@only_two_signs"),
    (
        ONLY,
        ("year_digit_month.letter_glued", "year_digit_month.figure_glued",
         "year_digit_month.figures_glued"),
        "@only_glued",
    ),
    (FIRST, _CODED, "@coded_first"),
    (BEFORE_NUMBER, _CODED, "@coded_before_number"),
)  # fmt: skip
"""Surroundings, the forms for which they mean something, and the circumstance; those above come
before those below."""


def _by_form() -> dict[str, list[tuple[int, tuple[str]]]]:
    """By each form the surroundings that mean something for it, and the circumstance."""
    found: dict[str, list[tuple[int, tuple[str]]]] = {}
    for flags, forms, name in _BESIDE:
        for form in forms:
            found.setdefault(form, []).append((flags, (name.format(form),)))
    return found


_SPECIAL = _by_form()


def special(form: str, flags: int) -> tuple[str, ...]:
    """The circumstance that means something for this form only."""
    for some, circumstance in _SPECIAL.get(form, ()):
        if flags & some:
            return circumstance
    return ()


def _heeded_by(manners: tuple[Manner, ...]) -> tuple[tuple[Manner, ...], int]:
    """The same manners, and the surroundings that can mean something for one of them."""
    heeded = ONLY  # Where a token is all that is marked, every form of it is told.
    for form, *_ in manners:
        for flags, _ in _SPECIAL.get(form, ()):
            heeded |= flags
    return manners, heeded


_heeded = Kept(_heeded_by, 4096)
"""Gives one tuple for all tokens with the same manners, and their tuples are many."""


Fields = tuple[str, bool, bool, str, bool, str, Firmness, bool, bool, bool, int, bool, bool, bool]
"""The fields of a role."""

_roles: list[Role] = []
_numbers: dict[Fields, int] = {}
_copyright_signs: set[int] = set()
_numbering = Lock()


Met = tuple[int, int, int, tuple[Manner, ...], tuple[When, ...]]
"""What is kept of a token: the number of its role, the first year of its family, which
surroundings can mean something for one of its proposals, and these: how each is written, and when
each would be.

A plain tuple of plain tuples, which the garbage collector need not look through.
"""


def _meet(text: str) -> Met:
    """What a token is to the reading of its marking; worked out when it is first met."""
    piece = look(text)
    fields = _role(piece)
    number = _numbers.get(fields)
    if number is None:
        number = _number(fields)
    manners, whens = piece.offers
    manners, heeded = _heeded[manners]
    return number, piece.first_year, heeded, manners, whens


def _number(fields: Fields) -> int:
    """The number of a role that may be new; another thread may have numbered it meanwhile."""
    with _numbering:
        number = _numbers.get(fields)
        if number is None:
            number = len(_roles)
            role = Role(*fields)
            _roles.append(role)
            if role.kind == "copyright":
                _copyright_signs.add(number)
            _numbers[fields] = number  # Last: from here on others use it.
    return number


met = Kept(_meet, _MOST_MET)
"""Every token that was met, and what is kept of it."""


def _role(piece: Look) -> Fields:
    """The fields of the role of a token."""
    text, kind, _, shape, family, offers, short, _, quantity, own_key, _, use = piece
    # What only a possible date needs is left out elsewhere, so that there are fewer roles.
    dated = bool(offers[0])
    return (
        kind,
        short,
        dated,
        own_key if dated else "",
        family is not None and (len(family.prefix) > 1 or not family.number.isdigit()),
        use or shape.use,
        quantity,
        dated and shape.is_value and is_usual_value(text),
        dated and shape.is_figures and is_value_code(text),
        *shape.role,
        shape.is_figures or (shape.has_noughts_behind and text.replace(".0", "").isdigit()),
    )


def forget() -> None:
    """Empty what is kept of earlier markings: needed when the weights are changed."""
    _plans.clear()
    _plans_of_line.clear()


_ROLE = itemgetter(0)


def layout_of(text: str) -> Layout:
    """The tokens of a plain text, what each is, and what stands around it."""
    texts, lines = (text.split(), ()) if _is_simple(text) else _split(text)
    found = [*map(met.__getitem__, texts)]
    roles = tuple(map(_ROLE, found))
    years: dict[int, int] = {}
    plan = None if lines or len(roles) > _MOST_KEPT else _plans_of_line[roles]
    if plan is None:
        years = _copyright_years(texts, roles)
        key = (roles, lines, tuple(years))
        plan = _plans[key] if len(roles) <= _MOST_KEPT else _plan(key)
    new = tuple.__new__  # Half the time of Layout(...).
    return new(Layout, (text, texts, lines, found, years, plan))


def _split(text: str) -> tuple[list[str], tuple[int, ...]]:
    """The tokens and the line of each; no lines where there is but one."""
    texts = _TOKEN.compiled.findall(text)
    if _BREAKS.isdisjoint(texts):
        return texts, ()
    lines: list[int] = []
    line = 0
    for piece in texts:
        lines.append(line)
        line += piece in _BREAKS
    kept = [place for place, piece in enumerate(texts) if piece not in _BREAKS]
    lines = [lines[place] for place in kept]
    return [texts[place] for place in kept], tuple(lines) if lines and lines[-1] else ()


def _copyright_years(texts: Sequence[str], roles: Sequence[int]) -> dict[int, int]:
    """Years behind a copyright sign, with at most two words between."""
    years: dict[int, int] = {}
    if _copyright_signs.isdisjoint(roles):
        return years
    reach = 0
    for place, text in enumerate(texts):
        if roles[place] in _copyright_signs:
            reach = 3
        elif reach:
            reach -= 1
            if _COPYRIGHT_YEAR.fullmatch(text):
                figures = text.strip("',.")
                is_year = len(figures) == 4 or text[0] == "'"
                if is_year or roles[place - 1] in _copyright_signs:
                    years[place] = int(figures) + (1900 if len(figures) == 2 else 0)
                    reach = 3
    return years


class _Row:
    """A row of roles with what is known of it as a whole."""

    def __init__(self, roles: list[Role], lines: Sequence[int], taken: Sequence[int]) -> None:
        self.roles = roles
        self.lines = dict(enumerate(lines))
        """The line of each token, and nothing where there is but one line."""
        self.on_line = Counter(lines)
        """Tokens by line."""
        self.parts = [place for place, role in enumerate(roles) if role.kind == "part"]
        self.numbered = [
            place
            for place, role in enumerate(roles)
            if role.kind in ("part", "number", "code", "quantity") and place not in taken
        ]
        """Tokens that could be a part number; ``taken`` are years."""
        self.certain = {place for place in self.parts if roles[place].certain}
        self.uses = {role.use for role in roles}
        self.flags = SUPPLY if "supply" in self.uses else BATTERY if "battery" in self.uses else 0
        """The surroundings that all tokens share."""
        self.flags |= CYRILLIC * ("cyrillic" in self.uses)
        self.flags |= TRANSISTOR * ("2S numbering" in self.uses)
        self.flags |= LEADING_FIVE * ("leading 5" in self.uses) | EAST * ("east" in self.uses)
        if any(role.kind == "flame class" for role in roles):
            self.flags |= BOARD
        self.has_numbers_only = all(role.kind == "number" for role in roles)
        quantities = [role.quantity for role in roles if role.kind == "quantity"]
        self.quantities = len(quantities)
        self.has_values = len(quantities) > 1 or "firm" in quantities
        """Whether values are marked, and not a single number that may as well be something else."""


def _plan(key: tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...]]) -> Plan:
    """The circumstances in a row of roles, by their numbers, lines and what is taken.

    These are the places of copyright years.
    """
    numbers, lines, taken = key
    roles = _in_words([_roles[number] for number in numbers])
    row = _Row(roles, lines, taken)
    spots, ends = [], []
    for place, role in enumerate(roles):
        if place in taken:
            continue
        if role.has_offers and not _in_a_sentence(row, place):
            keys = (
                *_neighbours(row, place),
                *_as_part(row, place),
                *_as_quantity(row, place),
                *_beside_parts(row, place),
            )
            flags = _flags(row, place)
            spots.append((place, flags, keys, odds_of(keys), reasons_of(keys)))
        if place and role.ends and _ends_a_date(roles, place):
            habit = ("@gap_cyrillic",) if row.flags & CYRILLIC else ()
            ends.append((place, (*_neighbours(row, place), *habit)))
    against = _against(row)
    return Plan(
        tuple(spots),
        tuple(ends),
        against,
        odds_of(against),
        tuple(row.parts),
        tuple(
            place
            for place, role in enumerate(roles)
            if role.use == "dated word"
            or (role.kind == "part" and not _is_rather_a_date(row, place))
        ),
        len(roles) == 1 and roles[0].is_cell,
        not row.uses.isdisjoint(("memory", "leading 5")),
    )


def _in_words(roles: list[Role]) -> list[Role]:
    """The roles with words that belong together taken together: ``DATE CODE`` is a date word."""
    return [
        role._replace(kind="date word")
        if before and before.kind == "date word" and role.kind in ("lot word", "revision word")
        else role
        for before, role in zip([None, *roles], roles, strict=False)
    ]


_plans = Kept(_plan, 16384)


def _plan_of_line(roles: tuple[int, ...]) -> Plan | None:
    """The plan of a single line; none where copyright years may stand in it, as they are not known
    from the roles."""
    return _plans[roles, (), ()] if _copyright_signs.isdisjoint(roles) else None


_plans_of_line = Kept(_plan_of_line, 16384)


def _ends_a_date(roles: Sequence[Role], place: int) -> bool:
    """Whether a token that may be a year can end a date of two or three tokens."""
    before = roles[place - 1]
    if roles[place].ends == 1:
        return not before.is_long
    behind_word = place > 1 and before.kind == "number" and roles[place - 2].is_letters
    return before.is_letters or behind_word


def _in_a_sentence(row: _Row, place: int) -> bool:
    """Whether a word of two letters stands before another word: ``NO DATE``."""
    role = row.roles[place]
    if role.kind != "lot word" or not role.is_pair or place + 1 == len(row.roles):
        return False
    return row.roles[place + 1].kind in ("word", "date word")


_BEFORE = {
    "lot word": "@after_lot_word",
    "revision word": "@after_revision_word",
    "country": "@after_country",
    "date word": "@after_date_word",
    "week word": "@after_week_word",
    "unit": "@after_unit",
    "flame class": "@after_flame_class",
    "safety class": "@after_safety_class",
    "conformity mark": "@after_conformity_mark",
}


def _has_own_line(row: _Row, place: int) -> bool:
    return place in row.lines and row.on_line[row.lines[place]] == 1


def _begins_line(row: _Row, place: int) -> bool:
    return row.lines.get(place) != row.lines.get(place - 1)


def _neighbours(row: _Row, place: int) -> list[str]:
    """The circumstances of a token that come from its neighbours."""
    roles, count = row.roles, len(row.roles)
    keys = []
    if count == 1:
        keys.append("@only")
    elif place == count - 1:
        keys.append("@last")
    elif place == 0:
        keys.append("@first")
        if row.has_numbers_only:
            keys.append("@upper_number")
    if place and (key := _BEFORE.get(roles[place - 1].kind)):
        # The body's number touches its mark.
        skipped = key == "@after_conformity_mark" and _begins_line(row, place)
        keys += () if skipped else (key,)
    if place + 1 < count:
        behind = roles[place + 1]
        if behind.kind == "unit" and (not behind.short or roles[place].is_usual_value):
            keys.append("@before_unit")
        elif behind.short:
            keys.append("@before_single")
        elif behind.kind == "country":
            keys.append("@before_country")
    if _has_own_line(row, place):
        keys.append("@own_line")
    return keys


_AGAIN = {
    "@family_alone": "@family_again",
    "@family_suffix": "@family_again",
    "@family_one_letter": "@family_again",
    "@family_lettered": "@lettered_again",
}


_LIKENESS = {"@family_alone": 0, "@family_one_letter": 1, "@family_suffix": 2}
"""How like a part number a token is written, of which a family leaves a date possible; others are
more like one."""


def _is_another_the_part(row: _Row, place: int) -> bool:
    """Whether another token is more likely the part number: one that can hardly be anything else,
    or one that stands before and is written as much like one."""
    if row.certain and (len(row.certain) > 1 or place not in row.certain):
        return True
    own = _LIKENESS.get(row.roles[place].own_key, 3)
    return any(
        other < place and _LIKENESS.get(row.roles[other].own_key, 3) >= own for other in row.parts
    )


def _is_rather_a_date(row: _Row, place: int) -> bool:
    """Whether a part number of a family is more likely the date of another that is marked."""
    own_key = row.roles[place].own_key
    return own_key in _AGAIN and _is_another_the_part(row, place)


_ONLY_PART = ("@family_alone", "@family_suffix", "@family_one_letter")
"""What a family may say of a token, if it leaves a date possible."""


def _as_part(row: _Row, place: int) -> list[str]:
    """The circumstance that a token is itself a part number."""
    own_key = row.roles[place].own_key
    if not own_key:
        return []
    if row.flags & BOARD and own_key in ("@family_alone", "@family_suffix"):
        return ["@family_on_board"]
    if _is_another_the_part(row, place):
        own_key = _AGAIN.get(own_key, own_key)
    if own_key not in _ONLY_PART:
        return [own_key]
    if any(role.kind == "unread" for role in row.roles[place + 1 :]):
        return [own_key, "@family_before_unread"]
    return [own_key, "@only_family_alone"] if row.numbered == [place] else [own_key]


def _beside_parts(row: _Row, place: int) -> list[str]:
    """The circumstance that a part number stands before or behind."""
    if row.parts and row.parts[0] < place:
        return ["@part_before"]
    return ["@part_behind"] if row.parts and row.parts[-1] > place else []


def _as_quantity(row: _Row, place: int) -> list[str]:
    """The circumstance that a token is a quantity, or a value beside one."""
    role = row.roles[place]
    others = row.quantities - (role.kind == "quantity")
    if role.quantity == "firm" or (role.quantity and others):
        return ["@quantity"]
    if role.quantity == "usual":
        return ["@quantity_letter"]
    if place and row.roles[place - 1].use == "film resistor" and not _begins_line(row, place):
        return ["@resistor_value"]
    if role.is_value_code and len(row.roles) == 1:
        return ["@value_alone"]
    return ["@value_code"] if others and role.is_value_code else []


def _flags(row: _Row, place: int) -> int:
    """The circumstances of a token that mean something for some forms only."""
    count = len(row.roles)
    flags = row.flags
    own_line = _has_own_line(row, place)
    if count == 1:
        flags |= ONLY | ALONE
    elif place == 0:
        flags |= FIRST
        if not row.certain and any(role.has_offers for role in row.roles[1:]):
            flags |= UPPER
    elif row.roles[place - 1].kind == "week word":
        flags |= AFTER_WEEK
    elif row.roles[place - 1].kind == "date word":
        flags |= AFTER_DATE
    if own_line:
        flags |= ALONE | BELOW * (place > 0 and not row.has_numbers_only)
    is_last = 0 < place == count - 1
    if is_last and row.roles[place].own_key == "@family_lettered":
        flags |= LETTERED_LAST * _is_another_the_part(row, place)
    elif is_last and row.parts and row.parts[0] < place:
        flags |= LAST_BEHIND
    behind_values = is_last and row.roles[place - 1].kind in ("quantity", "unit")
    if row.has_values and (own_line or behind_values):
        flags |= VALUED if row.roles[place].kind in ("code", "number") else 0
    if place + 1 < count and row.roles[place + 1].kind == "number":
        flags |= BEFORE_NUMBER
    return flags


def _against(row: _Row) -> tuple[str, ...]:
    """Circumstances that speak for 'no date here'."""
    count, kinds = len(row.roles), {role.kind for role in row.roles}
    keys = ["@none.only"] if count == 1 else []
    if not kinds.isdisjoint(("lot word", "revision word")):
        keys.append("@none.lot_or_revision")
    if "unit" in kinds or row.has_values:
        keys.append("@none.unit")
    if "part" in kinds and count > 1:
        keys.append("@none.part")
    return tuple(keys)
