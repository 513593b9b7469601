"""Which parts a recorded work fitted, and whether it removed any, by the words it uses.

Knows the words and which kinds of part they speak of. A part that was cleaned, checked or soldered
anew is still the part it was. Works are not weighed: what they fitted is taken as given.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import date

from provenance.survey.model import KnownWork, SurveyedPart

_FITTED = (
    *("replac(?:e|es|ed|ing|ements?)", "swap(?:s|ped|ping)?", "chang(?:e|es|ed|ing)"),
    *(
        "exchang(?:e|es|ed|ing)",
        "substitut(?:e|es|ed|ing|ions?)",
        "(?:re-?)?fit(?:s|ted|ting|(?! for))",
    ),
    *("install(?:s|ed|ing|ation)?", "add(?:s|ed|ing)?", "insert(?:s|ed|ing)?"),
    *("put in", "upgrad(?:e|es|ed|ing)", "updat(?:e|es|ed|ing)", "renew(?:s|ed|ing|al)?"),
    *("re-?cap(?:s|ped|ping)?", "re-?chip(?:s|ped|ping)?", "re-?buil(?:d|ds|t|ding)"),
    *("re-?program(?:s|med|ming|mes?)?", "re-?burn(?:s|ed|t|ing)?", "re-?flash(?:es|ed|ing)?"),
    r"new(?=\s+\w)(?!\s+(?:solder|joint|flux|paste|grease|glue|tube|wick|tip|owner|test|reading))",
)
"""Words that say of a work that it fitted something: common usage. 'New' says it of the thing
that follows, unless that is used up, such as solder."""
_NOT = r"(?:not|never|no|none|without|cannot|\w+n['’]t)(?:\s+(?!but\b|and\b)[\w'’-]+){0,2}\s+"
"""What says the opposite, up to three words before: common usage."""
_FITTING = re.compile(rf"(?:\b{_NOT})?(?<!\w)(?<!\bun-)(?:{'|'.join(_FITTED)})(?!\w)")
_REMOVING = re.compile(
    rf"(?:\b{_NOT})?(?<!\w)(?:remov(?:es?|ed|ing|als?)|(?:taken?|took) out)(?!\w)"
)
_DENIED = re.compile(rf"\b{_NOT}")
_PIECES = re.compile(r"[,;:.()]+(?:\s+|$)")
_DONE = re.compile(r"\w\wed\b")

CHIPS = re.compile(
    r"\b(?:chips?|ics?|integrated circuits?|e?e?p?roms?|[ds]?rams?|memor(?:y|ies)|cpus?|"
    r"(?:micro)?processors?|op-?\s?amps?|gates?|parts|components|everything|re-?chip\w*)\b"
)
"""Words that speak of chips, or of all that is there."""
KINDS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (r"\w*capacitors?|caps?|electrolytics?|tantalums?|re-?cap\w*", ("C",)),
    (r"resistors?", ("R",)),
    (r"pots?|potentiometers?|trimmers?|presets?", ("RV",)),
    (r"transistors?", ("Q",)),
    (r"diodes?|leds?|rectifiers?", ("D", "CR")),
    (r"batter(?:y|ies)|cells?|accumulators?", ("B", "BT")),
    (r"fuses?", ("F",)),
    (r"switch(?:es)?|push-?buttons?", ("S", "SW")),
    (r"connectors?|plugs?|jacks?", ("J", "P", "CN")),
    (r"relays?", ("K", "RL", "RLY")),
    (r"lamps?|bulbs?", ("DS",)),
    (r"transformers?", ("T",)),
    (r"crystals?", ("Y", "X")),
    (r"keys?|keycaps?|belts?|cables?|leads?|wires?|wiring|knobs?|screws?|feet", ()),
    (r"firmware|software|re-?program\w*|re-?burn\w*|re-?flash\w*", ()),
)
"""Other things that a work fits, with the letters that the references of their kind begin with:
IEEE 315-1975, clause 22, and common practice."""
ON_A_PART = re.compile(r"\b(?:heat-?\s?sinks?|sockets?|holders?|clips?|covers?|labels?)\b")
"""What is fitted to a part, or under it, and leaves it the part it was: common practice."""


def by_date(works: Sequence[KnownWork]) -> list[int]:
    """The numbers of works, those that were over first in front, whatever their order in the file.

    What was fitted twice is the last that went in.
    """

    def over(number: int) -> tuple[date, date]:
        first, last = works[number].span()
        return last or date.max, first or date.min

    return sorted(range(len(works)), key=over)


def fitting(done: str) -> list[str]:
    """The pieces of what was done that say that something was fitted, in small letters."""
    return [piece for piece in _pieces(done) if _says(_FITTING, piece)]


def removing(done: str) -> bool:
    """Whether what was done says that something was removed."""
    return _says(_REMOVING, done.casefold())


def fitted_by(done: str, named: Sequence[str], parts: Sequence[SurveyedPart]) -> Iterator[str]:
    """The references of the parts that a work fitted, from what was ``done`` and what it ``named``.

    A part named by its reference counts; a section named counts as a whole where the text speaks
    of chips or of no kind of part, else by its parts of the kinds that the text speaks of.
    """
    for piece in fitting(done):
        kinds = [letters for words, letters in KINDS if re.search(rf"\b(?:{words})\b", piece)]
        whole = CHIPS.search(piece) is not None
        if not whole and not kinds and ON_A_PART.search(piece):
            continue
        letters = {letter for kind in kinds for letter in kind}
        for part in parts:
            of_kind = whole or not kinds or part.ref.upper().rstrip("0123456789") in letters
            if part.ref in named or (part.section in named and of_kind):
                yield part.ref


def _pieces(done: str) -> Iterator[str]:
    """What was done, one thing at a time: a piece without a verb belongs to the next, and one at
    the end to the one before."""
    pieces: list[str] = []
    waiting = ""
    for piece in filter(None, _PIECES.split(done.casefold())):
        waiting = f"{waiting}, {piece}" if waiting else piece
        if _DONE.search(piece) or _FITTING.search(piece):
            pieces.append(waiting)
            waiting = ""
    if waiting and pieces:
        pieces[-1] += f", {waiting}"
    yield from pieces


def _says(words: re.Pattern[str], piece: str) -> bool:
    """Whether one of the words at least is there, and is not denied."""
    return any(not _DENIED.match(found[0]) for found in words.finditer(piece))
