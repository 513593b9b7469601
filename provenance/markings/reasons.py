"""The reasons of a reading in words: one sentence for each form and circumstance.

Knows the words only. What the circumstances weigh is in ``weights.csv``.
"""

from __future__ import annotations

from functools import lru_cache

from provenance.markings.schemes import all_schemes

_REASONS = {
    "@only": "it is all that is marked",
    "@last": "it stands last",
    "@first": "it stands first, where the part number usually is",
    "@upper_number": "of numbers alone the first is usually the part's",
    "@upper_code": "letters and figures that stand first are usually the part's",
    "@before_single": "a single line or lot character follows",
    "@before_unit": "a unit follows, so it may be a value",
    "@before_country": "the country follows",
    "@after_country": "it follows the country",
    "@after_lot_word": "a word for a lot or serial number stands before it",
    "@after_revision_word": "a word for a revision or check sum stands before it",
    "@after_date_word": "a word for a date stands before it",
    "@after_week_word": "a word for a week stands before it",
    "@after_unit": "a unit stands before it",
    "@after_flame_class": "the flame class of a board stands before it",
    "@after_safety_class": "the safety class of a capacitor stands before it",
    "@after_conformity_mark": "behind a mark of conformity stands the number of a body",
    "@month_after_week_word": "the word for a week stands before it, so it is no month",
    "@own_line": "it has a line to itself",
    "@part_before": "the part number stands before it",
    "@part_behind": "the part number stands behind it",
    "@family_lettered": "the same characters are a part number",
    "@family_one_letter": "without its letter it is a part number",
    "@family_suffix": "with its letters it is a part number",
    "@family_alone": "the same figures are a part number",
    "@family_supply": "the same figures are a supply or reset chip",
    "@only_family_alone": "nothing else is marked that could be the part number",
    "@family_before_unread": "the date may be what cannot be read behind it",
    "@only_glued": "a type mark with a date behind it is all that fits on a small part",
    "@coded_first": "letters and figures that stand first are a part number",
    "@coded_before_number": "a number of the lot follows",
    "@only_two_signs": "two signs by themselves are the IEC form of a date on small parts",
    "@family_other": "the same characters are a value or a type",
    "@quantity": "it is a number with its unit",
    "@quantity_letter": "it may be a number with its unit",
    "@value_alone": "by themselves, three figures are usually a value and its power of ten",
    "@value_code": "beside a quantity, three figures are usually a value and its power of ten",
    "@resistor_value": "behind the type of a resistor stands its value",
    "@unread": "characters that cannot be read were filled in",
    "@unread_letter": "between figures a letter is unusual",
    "@letter_for_figure": "letters that look like figures were taken as figures",
    "@o_or_i_for_figure": "an O, I or l was taken for a figure",
    "@family_again": "it could be a part number, but another one is marked",
    "@family_on_board": "it could be a part number, but a bare board bears none",
    "@lettered_again": "it looks like a part number, but another one is marked",
    "@one_seven": "a 1 and a 7 were taken for each other",
    "@gap": "there is a gap inside it",
    "@lost_zero": "a leading zero was put back that a spreadsheet may have dropped",
    "@spreadsheet": "a spreadsheet may have made a number of it",
    "house": "it fits a house scheme",
    "month_year@cyrillic": "parts with Cyrillic letters bear month and year",
    "month_year.dotted_short@cyrillic": "parts with Cyrillic letters bear month and year",
    "year_month@cyrillic": "parts with Cyrillic letters bear year and month as often as a week",
    "year_digit_month.letter@transistor": (
        "on transistors of 2S numbering year figure and month are usual"
    ),
    "@lettered_last": "behind the part number, letters and figures are rather a date",
    "year_week_plant.two@last_behind": "letters with year and week stand behind the part number",
    "year_week_plant.four@last_behind": "letters with year and week stand behind the part number",
    "week_year@below": "a number below the part's is rather a date",
    "year_day@dated": "with the word for a date, five figures are year and day",
    "short_year_week_lot.six@leading_five": "parts of this numbering bear such lot numbers",
    "iec_letters@east": "parts of this numbering bear the year letter and month",
    "@gap_cyrillic": "parts with Cyrillic letters bear month and year",
    "@spaced_month": "with a gap, year and week are the usual",
    "week_year@board": "bare boards bear week and year",
    "year_week_plant.lot@board": "on a board a letter and figures are the number of a file",
    "iec_letters@valued": "two signs behind values are the IEC form of a date",
    "iec_letters.letters@valued": "two signs behind values are the IEC form of a date",
    "year_month.separated@battery": "year and month so written are usual on batteries",
}


@lru_cache(maxsize=65536)
def reasons_of(keys: tuple[str, ...]) -> tuple[str, ...]:
    """The names of forms and circumstances in words; those without words are left out."""
    names = _names()
    found = []
    for key in keys:
        if key in _REASONS:
            found.append(_REASONS[key])
        elif (scheme := key.partition(".")[0]) in names and "@" not in key:
            found.append(f"written as {names[scheme]}")
    return tuple(found)


@lru_cache(maxsize=1)
def _names() -> dict[str, str]:
    return {scheme.key: scheme.name for scheme in all_schemes()}
