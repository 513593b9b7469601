"""Each kind of bad input once, with the whole message: file, line, key, problem, fix."""

from __future__ import annotations

import os
import time
from itertools import pairwise
from pathlib import Path

import pytest
import yaml

from provenance.errors import SurveyError
from provenance.survey import syntax
from provenance.survey.files import LARGEST, load, load_survey
from tests.survey.writing import GOOD, complaint, put

QUOTE = 'Fix: put it in quotes, such as U31: "XR4558 7923"'
OTHER_KIND = "a text that holds a quote goes between the other kind"
NO_MARKING = (
    "Fix: write what can be read with ? for each character that cannot, "
    "or ? alone where nothing can"
)
HEADER = (
    "Fix: the first line names the columns: ref,marking and, where noted, section,mount,joints,note"
)
EMPTY = "Fix: start from a template: provenance new FILE"
TWICE = "Fix: give each part its own reference; one of the two may be misread"

# What is added to GOOD (from line 5 on), and what is said of it.
ADDED = {
    "unknown key": (
        "sectoins: x\n",
        "s.yaml:5: sectoins: there is no key 'sectoins' here. Fix: write sections",
    ),
    "unknown key of a section": (
        "    monut: soldered\n",
        "s.yaml:5: sections > audio > monut: there is no key 'monut' here. Fix: write mount",
    ),
    "unknown key of a part": (
        "      U2: {marknig: x}\n",
        "s.yaml:5: sections > audio > parts > U2 > marknig: there is no key 'marknig' here. "
        "Fix: write marking",
    ),
    "unknown key like no other": (
        "board: {zzz: x}\n",
        "s.yaml:5: board > zzz: there is no key 'zzz' here. "
        "Fix: use one of title, maker, model, revision, serial, place or owner",
    ),
    "merge key": (
        "<<: {a: b}\n",
        "s.yaml:5: <<: there is no key '<<' here. Fix: use one of board, production, trade, "
        "today, notes, sections, relations, evidence, works or houses",
    ),
    "missing marking": (
        "      U2: {mount: soldered}\n",
        "s.yaml:5: sections > audio > parts > U2: the key marking is missing. "
        "Fix: add marking: here",
    ),
    "unknown choice": (
        "    mount: sokceted\n",
        "s.yaml:5: sections > audio > mount: 'sokceted' is not one of the choices "
        "soldered or socketed. Fix: write socketed",
    ),
    "unknown trade": (
        "trade: mass\n",
        "s.yaml:5: trade: 'mass' is not one of the choices mass production, small series, "
        "one-off or workshop. Fix: write mass production",
    ),
    "reference twice in a section": (
        '      U1: "LM741CN 7924"\n',
        "s.yaml:5: sections > audio > parts > U1: the reference is given twice, "
        f"first on line 4. {TWICE}",
    ),
    "reference in two sections": (
        "  power:\n    parts:\n      U1: LM723 7924\n",
        "s.yaml:7: sections > power > parts > U1: the reference U1 is used twice: "
        f"in section 'audio' and in section 'power'. {TWICE}",
    ),
    "section twice": (
        "  audio:\n    parts: {U2: x}\n",
        "s.yaml:5: sections > audio: the key is given twice, first on line 2. "
        "Fix: keep one of the two",
    ),
    "no value": (
        "board:\n  title:\n",
        "s.yaml:6: board > title: has no value. Fix: write a value, or take the line out",
    ),
    "no marking": (
        "      U2:\n",
        f"s.yaml:5: sections > audio > parts > U2: has no value. {NO_MARKING}",
    ),
    "empty quotes": (
        '      U2: ""\n',
        f"s.yaml:5: sections > audio > parts > U2: has no marking. {NO_MARKING}",
    ),
    "empty list of lines": (
        "      U2: []\n",
        f"s.yaml:5: sections > audio > parts > U2: has no marking. {NO_MARKING}",
    ),
    "list inside a list": (
        "      U2: [[x]]\n",
        "s.yaml:5: sections > audio > parts > U2: has a list inside a list. "
        "Fix: write one line of the marking an item",
    ),
    "mark lost in a comment": (
        "      U2: XR4558 #7923\n",
        "s.yaml:5: sections > audio > parts > U2: YAML takes '#7923' for a comment, so it would "
        'be lost. Fix: put the whole marking in quotes, such as U31: "XR4558 #7923", '
        "or a blank after # if it is a comment",
    ),
    "figures lost in a comment": (
        "      U2: XR4558 # 7923\n",
        "s.yaml:5: sections > audio > parts > U2: YAML takes '# 7923' for a comment, so it would "
        'be lost. Fix: put the whole marking in quotes, such as U31: "XR4558 # 7923", '
        "or a comment on its own line",
    ),
    "alias": (
        "      U2: *7923\n",
        "s.yaml:5: sections > audio > parts > U2: a * makes this an alias of YAML ('*7923'), "
        f"which a survey does not use. {QUOTE}",
    ),
    "anchor": (
        "      U2: &7923 x\n",
        "s.yaml:5: sections > audio > parts > U2: an & makes '&7923' an anchor of YAML, "
        f"which a survey does not use. {QUOTE}",
    ),
    "tag": (
        "      U2: !!python/object/apply:os.getcwd []\n",
        "s.yaml:5: sections > audio > parts > U2: an ! makes "
        "'tag:yaml.org,2002:python/object/apply:os.getcwd' a tag of YAML, "
        f"which a survey does not use. {QUOTE}",
    ),
    "quotes left open": (
        '      U2: "7923\n      U3: x\n',
        "s.yaml:5: sections > audio > parts > U2: is not valid YAML: the quotes that open here are "
        "not closed. "
        "Fix: close the quotes; a text that holds a quote goes between the other kind",
    ),
    "curled quotes": (
        "      U2: \u201cXR4558 # 7923\u201d\n",
        "s.yaml:5: sections > audio > parts > U2: YAML takes \u201c for a part of the text, not "
        f"for a quote. {QUOTE}, with the straight quotes of the keyboard",
    ),
    "tab": (
        "\t\tU2: x\n",
        "s.yaml:5: sections > audio > parts: is not valid YAML: a tab indents the line. "
        "Fix: indent with blanks",
    ),
    "two documents": (
        "---\na: b\n",
        "s.yaml:5: holds more than one document. Fix: keep one survey in a file, without ---",
    ),
    "control character": (
        "      U2: 79\x1b[31m23\n",
        "s.yaml:5: holds the control character \\x1b. "
        "Fix: take it out; write ? for a character that cannot be read",
    ),
    "control character by escape": (
        '      U2: "79\\e23"\n',
        "s.yaml:5: sections > audio > parts > U2: holds the control character \\x1b. "
        "Fix: take it out; write ? for a character that cannot be read",
    ),
    "brace without quotes": (
        "      U2: {7923}\n",
        "s.yaml:5: sections > audio > parts > U2 > 7923: has no value. "
        "Fix: write a value, or put a marking that begins with { in quotes",
    ),
    "key that is a list": (
        "? [a]\n: b\n",
        "s.yaml:5: a key is a list or a mapping. Fix: write a name before the colon",
    ),
    "parts as a list": (
        "  power:\n    parts:\n      - U2: x\n",
        "s.yaml:6: sections > power > parts: is a list where a mapping is expected. "
        'Fix: write one part a line, without a dash: U31: "XR4558 7923"',
    ),
    "text for a mapping": (
        "board: Main board\n",
        "s.yaml:5: board: is the text 'Main board' where a mapping is expected. "
        "Fix: write board: {title: ...}",
    ),
    "mapping for a list": (
        "works: {date: 2020, parts: C7, done: x}\n",
        "s.yaml:5: works: is a mapping where a list is expected. "
        "Fix: begin each item with a dash and a blank",
    ),
    "mapping for a text": (
        "board: {title: {a: b}}\n",
        "s.yaml:5: board > title: is a mapping where text is expected. "
        "Fix: write one line of text, in quotes",
    ),
    "long text": (
        f"notes: {'x' * 6000}\n",
        "s.yaml:5: notes: has 6,000 characters; 5,000 is the most. Fix: shorten it",
    ),
    "unknown section in a relation": (
        "relations:\n  - audoi fitted after audio\n",
        "s.yaml:6: relations 1: there is no section 'audoi'. Fix: write audio",
    ),
    "no relation at all": (
        "relations:\n  - audio fited after power\n",
        "s.yaml:6: relations 1: 'audio fited after power' is not a relation between two "
        "sections. Fix: write 'A fitted with B', 'A fitted after B' or 'A mounted on B', "
        "with the names of two sections",
    ),
    "section against itself": (
        "relations:\n  - audio fitted after audio\n",
        "s.yaml:6: relations 1: 'audio' is set against itself. Fix: name two different sections",
    ),
    "relations in a circle": (
        "  power: {}\nrelations:\n  - power fitted after audio\n  - audio mounted on power\n",
        "s.yaml:8: relations 2: 'power fitted after audio' and 'audio mounted on power' form a "
        "circle, so none of these sections could have gone in first. "
        "Fix: take one of these relations out or turn it round",
    ),
    "relations that contradict": (
        "  power: {}\nrelations:\n  - power fitted after audio\n  - audio fitted with power\n",
        "s.yaml:8: relations 2: 'power fitted after audio' contradicts 'audio fitted with power': "
        "sections that went in together cannot have gone in one after the other. "
        "Fix: take one of these relations out",
    ),
    "unknown section of evidence": (
        "evidence:\n  - {kind: document, says: in use by, date: 1981, section: audo}\n",
        "s.yaml:6: evidence 1 > section: there is no section 'audo'. Fix: write audio",
    ),
    "unknown kind of evidence": (
        "evidence:\n  - {kind: docment, says: in use by, date: 1981}\n",
        "s.yaml:6: evidence 1 > kind: 'docment' is not one of the choices bare board code, "
        "inspection stamp, document, photograph or serial number. Fix: write document",
    ),
    "document without a date": (
        "evidence:\n  - {kind: document, says: in use by}\n",
        "s.yaml:6: evidence 1: a document needs a date. Fix: add date: with the date it gives",
    ),
    "document that says nothing": (
        "evidence:\n  - {kind: document, date: 1981}\n",
        "s.yaml:6: evidence 1: a document needs to say what its date means. "
        "Fix: add says: with in use by, not before, built on or built between",
    ),
    "code without a marking": (
        "evidence:\n  - {kind: bare board code}\n",
        "s.yaml:6: evidence 1: a bare board code needs a marking or a date. "
        "Fix: add marking: with what is written there, or date: with its date",
    ),
    "document that says it in other words": (
        "evidence:\n  - {kind: document, says: before, date: 1981}\n",
        "s.yaml:6: evidence 1 > says: 'before' is not one of the choices in use by, not before, "
        "built on or built between. Fix: write in use by",
    ),
    "document that says the contrary in other words": (
        "evidence:\n  - {kind: document, says: Not_earlier_than, date: 1981}\n",
        "s.yaml:6: evidence 1 > says: 'Not_earlier_than' is not one of the choices in use by, "
        "not before, built on or built between. Fix: write not before",
    ),
    "stamp that says something": (
        "evidence:\n  - {kind: inspection stamp, date: 1981, says: built on}\n",
        "s.yaml:6: evidence 1 > says: an inspection stamp cannot take 'says'. "
        "Fix: take it out, or make the kind document",
    ),
    "reliability in words": (
        "evidence:\n  - {kind: document, says: built on, date: 1981, reliability: high}\n",
        "s.yaml:6: evidence 1 > reliability: 'high' is not a number. "
        "Fix: write a number from 0 to 1, such as 0.9",
    ),
    "reliability over one": (
        "evidence:\n  - {kind: document, says: built on, date: 1981, reliability: 90}\n",
        "s.yaml:6: evidence 1 > reliability: '90' is not between 0 and 1. "
        "Fix: write a number from 0 to 1, such as 0.9",
    ),
    "reliability that is no number": (
        "evidence:\n  - {kind: document, says: built on, date: 1981, reliability: nan}\n",
        "s.yaml:6: evidence 1 > reliability: 'nan' is not between 0 and 1. "
        "Fix: write a number from 0 to 1, such as 0.9",
    ),
    "adapter in other words": (
        "      U2: {marking: x, adapter: maybe}\n",
        "s.yaml:5: sections > audio > parts > U2 > adapter: 'maybe' is neither yes nor no. "
        "Fix: write yes or no",
    ),
    "work without parts": (
        "works:\n  - {date: 2020, parts: [], done: cleaned}\n",
        "s.yaml:6: works 1 > parts: a known work names no parts. Fix: list them: parts: [C7, C8]",
    ),
    "work on a range of parts": (
        "      U2: x\n      U4: x\nworks:\n  - {date: 2020, parts: [C3, U1-U9], done: swapped}\n",
        "s.yaml:8: works 1 > parts 2: 'U1-U9' is a range, so none of the parts in it would count. "
        "Fix: write [U1, U2, U4]",
    ),
    "work on a range in other signs": (
        "      U2: x\nworks:\n  - {date: 2020, parts: u2 to 1, done: swapped}\n",
        "s.yaml:7: works 1 > parts 1: 'u2 to 1' is a range, so none of the parts in it would "
        "count. Fix: write [U1, U2]",
    ),
    "work on a long range": (
        "".join(f"      U{n}: x\n" for n in range(2, 21))
        + "works:\n  - {date: 2020, parts: U1–U19, done: swapped}\n",
        "s.yaml:25: works 1 > parts 1: 'U1–U19' is a range, so none of the parts in it would "
        "count. Fix: write [U1, U2, U3, U4, U5, U6, U7, U8, U9, U10, U11, U12] and so on to U19",
    ),
    "work on two parts in one": (
        "works:\n  - {date: 2020, parts: U1 and C3, done: swapped}\n",
        "s.yaml:6: works 1 > parts 1: 'U1 and C3' is several names in one, so none of them would "
        "count. Fix: write [U1, C3]",
    ),
    "work on a part in small letters": (
        "works:\n  - {date: 2020, parts: [u 1], done: swapped}\n",
        "s.yaml:6: works 1 > parts 1: there is no 'u 1' in the survey. Fix: write U1",
    ),
    "work on a section that is misspelt": (
        "works:\n  - {date: 2020, parts: [auido], done: swapped}\n",
        "s.yaml:6: works 1 > parts 1: there is no section 'auido'. "
        "Fix: did you mean audio? If not, say in other words what was worked on",
    ),
    "house scheme with a slip": (
        'houses:\n  - {name: studio A, pattern: "K{yeer}{week}"}\n',
        "s.yaml:6: houses 1: house scheme 'studio A': no field {yeer}; did you mean {year4}? "
        "Fix: see the patterns of house schemes in the description",
    ),
    "date in the future": (
        "today: 2026-05-01\nworks:\n  - {date: 2026-06, parts: C7, done: x}\n",
        "s.yaml:7: works 1 > date: the date 2026-06 is in the future; "
        "the day of the survey is 2026-05-01. "
        "Fix: correct the date, or today: if the survey's own day is wrong",
    ),
    "window that ends in the future": (
        "today: 2026-05-01\nproduction: 1977/2077\n",
        "s.yaml:6: production: the date 1977/2077 is in the future; "
        "the day of the survey is 2026-05-01. "
        "Fix: correct the date, or today: if the survey's own day is wrong",
    ),
    "date code for a date": (
        "today: 2026-05-01\nevidence:\n  - {kind: inspection stamp, date: 7923}\n",
        "s.yaml:7: evidence 1 > date: the date 7923 is in the future; "
        "the day of the survey is 2026-05-01. "
        "Fix: a date code belongs under marking:; a date begins with the year in full",
    ),
    "survey of the future": (
        "today: 2999-01-01\n",
        "s.yaml:5: today: the day of the survey, 2999-01-01, is in the future. "
        "Fix: correct it, or take it out to use the current day",
    ),
    "today that is a month": (
        "today: 2026-05\n",
        "s.yaml:5: today: '2026-05' is not one day. Fix: write year-month-day, such as 2026-05-01",
    ),
    "date before printed boards": (
        "works:\n  - {date: 1890, parts: C7, done: x}\n",
        "s.yaml:6: works 1 > date: the date 1890 is before 1950, too early for such a board. "
        "Fix: correct the year",
    ),
    "production that ends before it begins": (
        "production: 1983/1977\n",
        "s.yaml:5: production: '1983/1977' ends before it begins. Fix: write 1977/1983",
    ),
    "documents that contradict": (
        "evidence:\n  - {kind: document, says: in use by, date: 1979-01}\n"
        "  - {kind: document, says: not before, date: 1980}\n",
        "s.yaml:7: evidence 2: evidence 2 (document, not before, 1980) and "
        "evidence 1 (document, in use by, 1979-01) cannot both be right: the first allows "
        "nothing before 1980-01-01, the second nothing after 1979-01-31. "
        "Fix: correct one, or give the doubtful one a reliability below 1",
    ),
    "use before the bare board was made": (
        "evidence:\n  - {kind: document, says: in use by, date: 1979-01}\n"
        '  - {kind: bare board code, marking: "7916"}\n',
        "s.yaml:7: evidence 2: evidence 2 (bare board code, 7916) and "
        "evidence 1 (document, in use by, 1979-01) cannot both be right: the first allows "
        "nothing before 1979-04-15, the second nothing after 1979-01-31. "
        "Fix: correct one, or give the doubtful one a reliability below 1",
    ),
}


@pytest.mark.parametrize(("added", "said"), ADDED.values(), ids=ADDED.keys())
def test_what_is_added_to_a_good_survey(added: str, said: str, tmp_path: Path) -> None:
    assert complaint(put(tmp_path, "s.yaml", GOOD + added)) == said


@pytest.mark.parametrize(
    "name",
    [
        *("U1", "audio", "C3", "C7-C9", "U3-U9", "Q12", "R5 and R6", "V2/V3", "IC7", "1-U1"),
        *("audio fuse", "fuse", "socket of U1", "battery", "the case", "U1-pin", "CN1-CN4"),
        *("voice 12", "voice B"),
    ],
)
def test_a_work_may_name_what_was_not_surveyed(name: str, tmp_path: Path) -> None:
    works = f"works:\n  - {{date: 2020, parts: [{name}], done: swapped}}\n"
    survey = load_survey(
        put(tmp_path, "s.yaml", f"{GOOD}  voice 2: {{}}\n  voice A: {{}}\n{works}")
    )
    assert survey.works[0].parts == (name,)


def test_many_strange_names_are_looked_at_in_a_moment(tmp_path: Path) -> None:
    sections = "".join(f"  section number {n}: {{mount: soldered}}\n" for n in range(499))
    names = ", ".join(f"thing {'abcdefghij'[n % 10]}{n}x{n}" for n in range(5_000))
    text = f"{GOOD}{sections}works:\n  - {{date: 2020, parts: [{names}], done: swapped}}\n"
    before = time.process_time()
    load_survey(put(tmp_path, "s.yaml", text))
    assert time.process_time() - before < 10


# Values that YAML itself refuses; the wording of some problems is the YAML library's own.
@pytest.mark.parametrize(
    ("value", "fix"),
    [
        ("- 7923", 'put it in quotes, such as U2: "- 7923"'),
        ("@7923", 'put it in quotes, such as U2: "@7923"'),
        ("%7923", 'put it in quotes, such as U2: "%7923"'),
        ("`7923", 'put it in quotes, such as U2: "`7923"'),
        ("XR4558: 7923  # worn", 'put it in quotes, such as U2: "XR4558: 7923"'),
        (f"XR4558: {'7' * 60}", 'put it in quotes, such as U31: "XR4558 7923"'),
        ("|7923", 'put it in quotes, such as U2: "|7923"'),
        ("?", 'put it in quotes, such as U2: "?"'),
        ('"XR4558" 7923', f"put the whole value between one pair of quotes; {OTHER_KIND}"),
        ('"79\\q23"', "put the value in single quotes, such as U31: 'XR4558 7923'"),
        ("[7923", "close the bracket, or put a marking that begins with one in quotes"),
    ],
)
def test_a_marking_that_is_not_yaml_is_to_be_quoted(value: str, fix: str, tmp_path: Path) -> None:
    said = complaint(put(tmp_path, "s.yaml", f"{GOOD}      U2: {value}\n      U3: x\n"))
    assert said.startswith("s.yaml:5: sections > audio > parts")
    assert ": is not valid YAML: " in said
    assert said.endswith(f". Fix: {fix}")


ALIKE = "Fix: indent this line exactly like the lines beside it"
SPLIT = "Fix: a comma inside braces ends a value: put it in quotes, such as"

# Slips of the keyboard that YAML notices late, or as something else; lines 1 to 4 are GOOD.
SLIPS = {
    "one blank too many": (
        "       U2: x\n",
        "5: sections > audio > parts: is not valid YAML: the line begins in column 8, "
        f"the lines above it in 1, 3, 5 or 7. {ALIKE}",
    ),
    "one blank too few": (
        "     U2: x\n",
        "5: sections > audio: is not valid YAML: the line begins in column 6, "
        f"the lines above it in 1, 3, 5 or 7. {ALIKE}",
    ),
    "too far in below a text": (
        "  power:\n    area: left\n      mount: soldered\n",
        "7: sections > power: is not valid YAML: the line begins in column 7, the lines "
        f"above it in 1, 3 or 5. {ALIKE}, or put a text of several lines in quotes",
    ),
    "a key between the blanks of an item": (
        "evidence:\n  - kind: document\n   says: built on\n",
        "7: evidence: is not valid YAML: the line begins in column 4, "
        f"the lines above it in 1, 3 or 5. {ALIKE}",
    ),
    "an item of a list without its dash": (
        "works:\n  - date: 2020\n  done: cleaned\n",
        "7: works: is not valid YAML: lines with a dash and lines without one are mixed. "
        "Fix: begin each item of a list with a dash and a blank, "
        "and indent the rest of it like the text behind its dash",
    ),
    "quotes that the next line closes": (
        '      U2: "XR4558\n      U3: "XR4558"\n      U4: "XR4558"\n',
        "5: sections > audio > parts > U2: is not valid YAML: the quotes that open here are not "
        f"closed. Fix: close the quotes; {OTHER_KIND}",
    ),
    "quotes that a far line closes": (
        "      U2: 'XR4558\n      U3: x\n\nboard: {title: 'Mixer'}\n",
        "5: sections > audio > parts > U2: is not valid YAML: the quotes that open here are not "
        f"closed. Fix: close the quotes; {OTHER_KIND}",
    ),
    "quotes left open inside braces": (
        'board: {title: Mixer, place: "attic}\nproduction: "1980"\n',
        "5: board > place: is not valid YAML: the quotes that open here are not "
        f"closed. Fix: close the quotes; {OTHER_KIND}",
    ),
    "an apostrophe between apostrophes": (
        "board:\n  title: 'the studio's mixer'\n",
        "6: board > title: is not valid YAML: text stands behind the closing quote. "
        f"Fix: put the whole value between one pair of quotes; {OTHER_KIND}",
    ),
    "no blank behind a colon, first of its block": (
        '  power:\n    parts:\n      U2:"LM723 7923"\n      U3: "LM723 7923"\n',
        "7: sections > power: is not valid YAML: no blank stands behind the colon. "
        'Fix: put a blank behind the colon, such as U2: "LM723 7923"',
    ),
    "no blank behind a colon, last of its block": (
        '      U2:"LM723 7923"\n',
        "5: sections > audio > parts: is not valid YAML: no blank stands behind the colon. "
        'Fix: put a blank behind the colon, such as U2: "LM723 7923"',
    ),
    "no blank behind a colon, alone in its block": (
        "  power:\n    mount:soldered\n",
        "5: sections > power: is the text 'mount:soldered' where a mapping is expected. "
        "Fix: put a blank behind the colon, such as mount: soldered",
    ),
    "no blank behind a colon, inside braces": (
        "board: {title:Mixer, maker: X}\n",
        "5: board > title:Mixer: has no value. "
        "Fix: put a blank behind the colon, such as title: Mixer",
    ),
    "no colon behind a name": (
        "board\n  title: Mixer\n",
        "5: is not valid YAML: no colon stands behind the name. "
        "Fix: put a colon and a blank behind it",
    ),
    "no colon behind a name in a block": (
        '  power:\n    parts:\n      U2 "LM723 7923"\n      U3: "LM723 7923"\n',
        "7: sections > power: is not valid YAML: no colon stands behind the name. "
        "Fix: put a colon and a blank behind it",
    ),
    "a colon in a title": (
        "board:\n  title: Mixer: main board\n",
        "6: board > title: is not valid YAML: a value that is not in quotes holds a colon with a "
        'blank behind it. Fix: put it in quotes, such as title: "Mixer: main board"',
    ),
    "a colon in a title inside braces": (
        "board: {title: Mixer: main board, maker: X}\n",
        "5: board > title: is not valid YAML: a value that is not in quotes holds a colon with a "
        'blank behind it. Fix: put it in quotes, such as title: "Mixer: main board"',
    ),
    "a comma in a title inside braces": (
        "board: {title: Mixer, main board, maker: X}\n",
        f'5: board > main board: has no value. {SPLIT} title: "Mixer, main board"',
    ),
    "a comma in a marking inside braces": (
        "  power: {parts: {U2: LM723, 7923}}\n",
        f'5: sections > power > parts > 7923: has no value. {SPLIT} U2: "LM723, 7923"',
    ),
    "a colon without a value inside braces": (
        "board: {title: Mixer, maker: }\n",
        "5: board > maker: has no value. Fix: write a value, or take the line out",
    ),
    "a brace left open": (
        "board: {title: Mixer\nproduction: 1980\n",
        "5: board > title: is not valid YAML: the bracket that opens here is not closed. "
        "Fix: close the bracket, or put a marking that begins with one in quotes",
    ),
    "a brace too many": (
        "board: {title: Mixer}}\nproduction: 1980\n",
        "5: board > title: is not valid YAML: this bracket closes none. "
        "Fix: take it out, or put the value in quotes",
    ),
}


@pytest.mark.usefixtures("_each_parser")
@pytest.mark.parametrize(("added", "said"), SLIPS.values(), ids=SLIPS.keys())
def test_a_slip_is_told_where_it_was_made(added: str, said: str, tmp_path: Path) -> None:
    assert complaint(put(tmp_path, "s.yaml", GOOD + added)) == f"s.yaml:{said}"


@pytest.mark.usefixtures("_each_parser")
def test_a_key_that_ends_at_its_colon_inside_braces(tmp_path: Path) -> None:
    """The one parser stops at the colon, the other finds no value."""
    said = complaint(put(tmp_path, "s.yaml", GOOD + "board: {title: Mixer, maker:}\n"))
    assert said.startswith("s.yaml:5: board > ")
    assert said.endswith(
        (
            "Fix: put a blank behind the colon, and a value behind that",
            "Fix: write a value, or take the line out",
        )
    )


def test_a_tab_behind_a_colon(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Only the parser in pure Python minds; YAML 1.2 (6.2) lets a tab separate."""
    path = put(tmp_path, "s.yaml", f"{GOOD}board:\t{{title: Mixer}}\n")
    assert load_survey(path).board.title == "Mixer"
    monkeypatch.setattr(syntax, "_EVENTS", yaml.SafeLoader)
    assert complaint(path) == (
        "s.yaml:5: board: is not valid YAML: a tab stands where a blank belongs. "
        "Fix: put a blank in its place"
    )


def test_a_text_of_several_lines_hides_no_slip_below_it(tmp_path: Path) -> None:
    """Quotes that run over lines and close are not blamed."""
    text = f'notes: "found in\n  a dry loft"\n{GOOD}       U2: "x"\n'
    assert complaint(put(tmp_path, "s.yaml", text)).endswith(ALIKE)


WHOLE = {
    "no markings at all": (
        "s.yaml",
        "board: {title: x}\n",
        "s.yaml: sections: the survey holds no markings at all. Fix: list at least one part "
        'under sections, such as sections: {main: {parts: {U1: "XR4558 7923"}}}',
    ),
    "sections without parts": (
        "s.yaml",
        "board: {title: x}\nsections: {audio: {mount: soldered}}\n",
        "s.yaml:2: sections: the survey holds no markings at all. Fix: list at least one part "
        'under sections, such as sections: {main: {parts: {U1: "XR4558 7923"}}}',
    ),
    "empty": ("s.yaml", "", f"s.yaml: is empty. {EMPTY}"),
    "blanks": ("s.csv", " \n\n", f"s.csv: is empty. {EMPTY}"),
    "comments": ("s.yaml", "# hello\n", f"s.yaml: holds comments only. {EMPTY}"),
    "list": (
        "s.yaml",
        "- a\n",
        "s.yaml:1: holds a list where a survey is expected. "
        "Fix: begin with sections: and list the parts of each",
    ),
    "text": (
        "s.yaml",
        "hello\n",
        "s.yaml:1: holds a single text where a survey is expected. "
        "Fix: begin with sections: and list the parts of each",
    ),
    "sections as a list": (
        "s.yaml",
        "sections:\n  - audio\n",
        "s.yaml:1: sections: is a list where a mapping is expected. "
        "Fix: write the section's name and a colon, without a dash",
    ),
    "alias bomb": (
        "s.yaml",
        "a: &a [x,x,x,x,x,x,x,x,x]\n"
        + "".join(f"{b}: &{b} [{','.join([f'*{a}'] * 9)}]\n" for a, b in pairwise("abcdefghi")),
        "s.yaml:1: a: an & makes '&a' an anchor of YAML, which a survey does not use. "
        "Fix: write the value out where it is needed",
    ),
    "deep YAML": (
        "s.yaml",
        "a: " + "[" * 30 + "]" * 30,
        "s.yaml:1: is nested more than 20 levels deep. Fix: check the brackets",
    ),
    "very deep YAML": (
        "s.yaml",
        "a: " + "[" * 100_000,
        "s.yaml:1: is nested more than 20 levels deep. Fix: check the brackets",
    ),
    "deep JSON": (
        "s.json",
        '{"a": ' + "[" * 30 + "]" * 30 + "}",
        "s.json: is nested more than 20 levels deep. Fix: check the brackets",
    ),
    "very deep JSON": (
        "s.json",
        "[" * 100_000,
        "s.json: is nested more than 20 levels deep. Fix: check the brackets",
    ),
    "many values": (
        "s.yaml",
        "a: [" + "x," * 150_001 + "]",
        "s.yaml:1: holds more than 150,000 values. Fix: make one survey for each board",
    ),
    "many documents": (
        "s.yaml",
        GOOD + "evidence:\n" + "  - {kind: document, says: in use by, date: 1981}\n" * 201,
        "s.yaml:5: evidence: holds 201 entries; 200 is the most. "
        "Fix: make one survey for each board",
    ),
    "many parts": (
        "s.csv",
        "ref,marking\n" + "".join(f"U{n},x\n" for n in range(5_001)),
        "s.csv:1: sections: the survey holds 5,001 parts; 5,000 is the most. "
        "Fix: make one survey for each board",
    ),
    "very large": (
        "s.yaml",
        "#" * (LARGEST + 1),
        "s.yaml: is very large: 2,000,001 bytes, where 2,000,000 is the most. "
        "Fix: make one survey for each board, and keep pictures out of it",
    ),
    "Latin-1": (
        "s.yaml",
        "board:\n  title: Prüfgerät\n".encode("latin-1"),
        "s.yaml:2: is not UTF-8 text (byte 0xFC); it looks like Latin-1 or a Windows code page. "
        "Fix: save it as UTF-8",
    ),
    "UTF-16": (
        "s.csv",
        "ref,marking\nU1,x\n".encode("utf-16"),
        "s.csv: is encoded as UTF-16, not UTF-8. Fix: save it as UTF-8",
    ),
    "UTF-16 without a mark": (
        "s.csv",
        "ref,marking\nU1,x\n".encode("utf-16-le"),
        "s.csv: is encoded as UTF-16, not UTF-8. Fix: save it as UTF-8",
    ),
    "binary": (
        "s.yaml",
        bytes(range(256)),
        "s.yaml: is a binary file (it holds NUL bytes). Fix: name a survey file",
    ),
    "one NUL": (
        "s.yaml",
        b"sections: \x00",
        "s.yaml: is a binary file (it holds NUL bytes). Fix: name a survey file",
    ),
    "workbook": (
        "s.csv",
        b"PK\x03\x04rest",
        "s.csv: is a spreadsheet workbook or another zip archive, not text. "
        "Fix: export it as CSV, UTF-8",
    ),
    "unknown suffix": (
        "s.txt",
        "x",
        "s.txt: the suffix '.txt' does not say what the file is. "
        "Fix: name it with .yaml, .yml, .json, .csv or .tsv",
    ),
    "no suffix": (
        "survey",
        "x",
        "survey: has no suffix that says what the file is. "
        "Fix: name it with .yaml, .yml, .json, .csv or .tsv",
    ),
    "JSON with a slip": (
        "s.json",
        '{"sections":\n {"a": 0731}}',
        "s.json:2: is not valid JSON: Expecting ',' delimiter. "
        "Fix: check the commas, brackets and quotes on this line and the one before",
    ),
    "JSON with a reference twice": (
        "s.json",
        '{"sections": {"a": {"parts": {\n"U1": "x",\n"U1": "y"}}}}',
        "s.json:3: sections > a > parts > U1: the reference is given twice, first on line 2. "
        + TWICE,
    ),
    "JSON with an unknown key": (
        "s.json",
        '{"sections": {"a": {\n"prts": {"U1": "x"}}}}',
        "s.json:2: sections > a > prts: there is no key 'prts' here. Fix: write parts",
    ),
    "JSON with null for a marking": (
        "s.json",
        '{"sections": {"a": {"parts": {"U1": null}}}}',
        f"s.json:1: sections > a > parts > U1: has no marking. {NO_MARKING}",
    ),
    "CSV with another header": (
        "s.csv",
        "reference,code\nU1,x\n",
        f"s.csv:1: the first line is 'reference,code', not column names. {HEADER}",
    ),
    "CSV without a header": (
        "s.csv",
        "U1,0731\n",
        f"s.csv:1: the first line is 'U1,0731', not column names. {HEADER}",
    ),
    "CSV with a misspelt column": (
        "s.csv",
        "ref,markng\nU1,x\n",
        "s.csv:1: markng: there is no column 'markng'. Fix: write marking",
    ),
    "CSV with a column of another kind": (
        "s.csv",
        "ref,marking,qty\nU1,x,1\n",
        "s.csv:1: qty: there is no column 'qty'. "
        "Fix: use ref, marking, section, mount, joints or note, and take other columns out",
    ),
    "CSV without markings": (
        "s.csv",
        "ref;section\nU1;audio\n",
        f"s.csv:1: marking: the column marking is missing. {HEADER}",
    ),
    "CSV with a column twice": (
        "s.csv",
        "ref,marking,marking\n",
        "s.csv:1: marking: the column marking is there twice. Fix: keep one of the two",
    ),
    "CSV with a reference twice": (
        "s.csv",
        "ref,marking\nU1,x\nU1,y\n",
        f"s.csv:3: parts > U1: the reference is given twice, first on line 2. {TWICE}",
    ),
    "CSV with an empty marking": (
        "s.csv",
        "ref,marking\nU1,\n",
        f"s.csv:2: marking: U1 has no marking. {NO_MARKING}",
    ),
    "CSV with an empty reference": (
        "s.csv",
        "ref,marking\n,x\n",
        "s.csv:2: ref: the row has no reference. Fix: write the part's reference",
    ),
    "CSV with a comma in a marking": (
        "s.csv",
        "ref,marking\nU1,LM741,7923\n",
        "s.csv:2: U1: the row has 3 cells under 2 column names. "
        "Fix: put a marking that holds the separator in double quotes",
    ),
    "CSV with open quotes": (
        "s.csv",
        'ref,marking\nU1,x\nU2,"x\n',
        "s.csv:3: is not valid CSV: unexpected end of data. "
        "Fix: close the quotes; a quote inside a cell is written twice",
    ),
    "CSV with a wrong choice": (
        "s.csv",
        "sep=;\nref;marking;mount\nU1;x;sokceted\n",
        "s.csv:3: sections > board > parts > U1 > mount: 'sokceted' is not one of the choices "
        "soldered or socketed. Fix: write socketed",
    ),
    "CSV with a header only": (
        "s.csv",
        "ref,marking\n",
        "s.csv:1: sections: the survey holds no markings at all. Fix: list at least one part "
        'under sections, such as sections: {main: {parts: {U1: "XR4558 7923"}}}',
    ),
}  # fmt: skip


@pytest.mark.parametrize(("name", "content", "said"), WHOLE.values(), ids=WHOLE.keys())
def test_a_file_that_is_bad_as_a_whole(
    name: str, content: str | bytes, said: str, tmp_path: Path
) -> None:
    assert complaint(put(tmp_path, name, content)) == said


def test_half_a_character_is_no_character(tmp_path: Path) -> None:
    said = complaint(put(tmp_path, "s.json", '{"sections": {"a": {"parts": {"U1": "\\ud800"}}}}'))
    assert said.endswith(
        "sections > a > parts > U1: holds the control character \\ud800. "
        "Fix: take it out; write ? for a character that cannot be read"
    )


def test_a_missing_file_and_a_near_name(tmp_path: Path) -> None:
    put(tmp_path, "counter.yaml", GOOD)
    assert complaint(tmp_path / "conter.yaml") == (
        "conter.yaml: there is no such file. Fix: did you mean counter.yaml?"
    )
    assert complaint(tmp_path / "nowhere" / "s.yaml") == (
        "s.yaml: there is no such file. Fix: check the path"
    )


def test_a_folder(tmp_path: Path) -> None:
    (tmp_path / "folder.yaml").mkdir()
    assert complaint(tmp_path / "folder.yaml") == (
        "folder.yaml: is a folder, not a file. Fix: name a survey file in it"
    )


def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.yaml")
    assert complaint(tmp_path / "pipe.yaml") == (
        "pipe.yaml: is not an ordinary file. Fix: save the survey as a file"
    )


def test_an_unreadable_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = put(tmp_path, "s.yaml", GOOD)

    def refuse(*_args: object, **_kwargs: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    assert complaint(path) == "s.yaml: may not be read. Fix: give yourself leave to read it"


def test_a_path_that_cannot_be() -> None:
    """Behind the colon stand the system's own words, as Python 3.11 and 3.13 have them."""
    words = "embedded null byte|stat: embedded null character in path"
    with pytest.raises(
        SurveyError, match=rf"a\\x00b.yaml: cannot be read: ({words})\. Fix: check the"
    ):
        load("a\0b.yaml")


def test_nothing_of_a_file_reaches_a_terminal_unescaped(tmp_path: Path) -> None:
    path = put(tmp_path, "s.json", '{"\\u001b[31mred": "x"}')
    said = complaint(path)
    assert "\x1b" not in said
    assert "\\x1b[31mred" in said


def test_all_problems_of_a_file_are_kept_in_file_order(tmp_path: Path) -> None:
    path = put(
        tmp_path,
        "s.yaml",
        "trade: masss\nsections:\n  a:\n    monut: x\n    parts: {U1: {mount: glued}}\n"
        "prodction: 1\n",
    )
    with pytest.raises(SurveyError) as caught:
        load_survey(path)
    error = caught.value
    assert [found.line for found in (error, *error.others)] == [1, 4, 5, 5, 6]


def test_a_misspelt_key_is_not_missed_as_well(tmp_path: Path) -> None:
    with pytest.raises(SurveyError) as caught:
        load(put(tmp_path, "s.yaml", f"{GOOD}      U2: {{marknig: x}}\n      U3: {{note: x}}\n"))
    assert [str(found).split(": ", 1)[1] for found in (caught.value, *caught.value.others)] == [
        "sections > audio > parts > U2 > marknig: there is no key 'marknig' here. "
        "Fix: write marking",
        "sections > audio > parts > U3: the key marking is missing. Fix: add marking: here",
    ]


def test_a_survey_at_the_limit_is_read(tmp_path: Path) -> None:
    rows = "".join(f"      U{n}: {{marking: XR4558 7923, mount: soldered}}\n" for n in range(5_000))
    path = put(tmp_path, "s.yaml", f"sections:\n  all:\n    parts:\n{rows}")
    assert len(load_survey(path).parts()) == 5_000
