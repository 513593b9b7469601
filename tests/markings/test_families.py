"""The table of part-number families: complete, sound, and cheap to search."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from provenance.markings.families import families, family_of


def test_at_least_150_families_each_with_a_source() -> None:
    assert len(families()) >= 150
    assert all(family.source and family.what and family.kind for family in families())
    assert len({family.pattern for family in families()}) == len(families())


def test_first_years_are_plausible() -> None:
    for family in families():
        assert family.first_made is None or 1950 <= family.first_made <= 2000


@pytest.mark.parametrize(
    ("number", "first_made"),
    [
        ("SN7432N", 1966), ("SN74S04N", 1969), ("SN74LS32N", 1971), ("SN74ALS32N", 1980),
        ("74F74PC", 1979), ("74HC04", 1982), ("74ACT244", 1985), ("CD4011BE", 1968),
        ("NE555N", 1972), ("LM741CN", 1968), ("1103", 1970), ("2107", 1973), ("4116", 1977),
        ("4164", 1979), ("41256", 1983), ("511000", 1986), ("1702", 1971), ("2708", 1975),
        ("2716", 1977), ("2732", 1979), ("2764", 1981), ("27128", 1982), ("27256", 1983),
        ("27512", 1984), ("8080", 1974), ("6800", 1974), ("6502", 1975), ("Z80", 1976),
        ("6809", 1978), ("8086", 1978), ("68000", 1979),
        ("A1266", 1975), ("C1815", 1970), ("D1138", 1975), ("K1058", 1980), ("C945", 1965),
        ("S9014", 1975), ("L298N", 1978), ("L6203", 1986), ("X2212P", 1982), ("X9C103P", 1987),
        ("A1020B-PL84C", 1988), ("XC9572-15PC44", 1995), ("XC1736D", 1987), ("RTC72421A", 1982),
        ("RP5C15", 1982), ("TMM24128P", 1976), ("EF9367P", 1981), ("TS68483", 1985),
        ("U880D", 1978), ("UB855D", 1978), ("DL003D", 1983), ("D100D", 1971), ("TMP68301", 1978),
        ("SCC68070", 1985), ("MAX232CPE", 1985), ("PIC16C54-RC/P", 1988), ("PIC16F84", 1997),
        ("ATMEGA8-16PU", 1998), ("ATTINY15L", 1998), ("AT90S2313", 1996), ("DS1287", 1986),
        ("DS1302N", 1990), ("CY7C128-35PC", 1984), ("AM9114CPC", 1975), ("MK48T02B", 1979),
        ("RTL8019AS", 1992), ("RTL8139C", 1997), ("TMS9914ANL", 1976), ("PLS153N", 1979),
        ("PALCE16V8H", 1987), ("OP27GP", 1975), ("REF02CP", 1975), ("SN75172N", 1969),
        ("RN55C1001F", 1965), ("CRCW1206", 1983), ("CK05BX104K", 1965), ("M39014/01", 1968),
        ("M55342/06", 1968), ("314B102", 1970), ("760-3-R10K", 1970), ("899-3-R1K", 1970),
        ("1820-1199", 1968), ("2322.156.11002", 1960), ("5082-7340", 1968), ("LS17330", 1985),
        ("SL-360", 1980), ("V23042-A1003", 1968), ("К155ЛА3", 1971), ("КР580ВМ80А", 1971),
        ("155ЛА3", 1971), ("КТ315Г", 1968), ("KR580VM80A", 1971),
    ],
)  # fmt: skip
def test_first_made_years(number: str, first_made: int) -> None:
    """The project's list of first years, all from memory; numbers with their usual letters in front
    and behind."""
    match = family_of(number)
    assert match is not None
    assert match.family.first_made == first_made


@pytest.mark.parametrize(
    ("number", "kind"),
    [("7432", "logic"), ("9316", "logic"), ("8255", "peripheral"), ("6845", "peripheral"),
     ("9750B", "supply"), ("LM7805CT", "regulator"), ("TIP31C", "transistor"),
     ("CR2032", "battery"), ("4.433619", "crystal"), ("PAL16L8", "array"),
     ("ICM7216D", "display"), ("MN3007", "linear"),
     ("6N138", "optocoupler"), ("10X-1-472G", "resistor"), ("AD7541", "converter")],
)  # fmt: skip
def test_kinds(number: str, kind: str) -> None:
    match = family_of(number)
    assert match is not None
    assert match.family.kind == kind


@pytest.mark.parametrize(
    "code",
    ["7841", "7922", "8532", "9640", "H7841", "N633", "7841B", "841", "W841", "W8412", "C8841",
     "P9114", "K841AB1", "A8532", "V8841", "S9241", "U8941D", "D8412", "CX8532", "LD8941"],
)  # fmt: skip
def test_plain_date_codes_are_no_families(code: str) -> None:
    assert family_of(code) is None


def test_patterns_cannot_run_away() -> None:
    """No unbounded repeats, and no repeat of a group: each number is tried in linear time."""
    for family in families():
        assert not re.search(r"[+*]|\{\d*,\}|\)\{|\)[?]\{", family.pattern), family.pattern


def expression(pattern: str) -> str:
    """A pattern of the table and the letters behind it as one regular expression."""
    number = pattern.replace("(", "(?:").replace("#", "[0-9]").replace("@", "[A-Z]")
    return f"({number})((?:[A-Z/-][A-Z0-9/.-]*)?)"


@given(data=st.data())
def test_numbers_are_found_as_the_table_writes_them(data: st.DataObject) -> None:
    """Against the regular expressions of Python: the first family in the table that fits."""
    family = data.draw(st.sampled_from(families()))
    number = data.draw(st.from_regex(expression(family.pattern), fullmatch=True))
    found = family_of("QX" + number)
    if len(number) > 20 or number[0].isalpha():
        return  # Letters in front of letters are cut off elsewhere.
    fitting = (re.fullmatch(expression(one.pattern), number) for one in families())
    place, match = next((place, match) for place, match in enumerate(fitting) if match)
    assert found is not None
    assert found.family == families()[place]
    assert (found.prefix, found.number, found.suffix) == ("QX", match[1], match[2])


@given(st.text(max_size=30))
def test_any_text_has_a_family_or_none(text: str) -> None:
    match = family_of(text)
    assert match is None or text.endswith(match.suffix)
