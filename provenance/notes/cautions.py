"""The cautions that belong to working on old boards, in one table.

Knows what can hurt a person or the board, and says it in a sentence each. Which caution belongs
to which inspection is the inference's business; here is the whole list for reports and notes.
"""

from __future__ import annotations

from typing import NamedTuple


class Caution(NamedTuple):
    """One danger: a heading and what to do about it."""

    about: str
    advice: str


FIRST = Caution(
    "Local rules",
    "Local rules and licensed practice come first; where they say otherwise, follow them.",
)

CAUTIONS: tuple[Caution, ...] = (
    FIRST,
    Caution("Power", "Switch off and unplug before opening or touching anything."),
    Caution(
        "Stored charge",
        "Capacitors keep their charge after unplugging. Have them discharged safely and measured "
        "before touching the board.",
    ),
    Caution(
        "Mains and picture tubes",
        "Leave mains and picture-tube sections to qualified people; they can kill when switched "
        "off.",
    ),
    Caution(
        "Batteries",
        "Old batteries leak. Do not touch the residue with bare hands; protect the eyes and take "
        "spent cells to a collection point.",
    ),
    Caution(
        "Lead solder",
        "Solder of the time holds lead. Ventilate when soldering, wash hands afterwards, keep food "
        "and children away.",
    ),
    Caution(
        "Old insulation",
        "Insulation grows brittle, and old sleeving or heat shields may hold asbestos. Do not "
        "flex, scrape or sand it.",
    ),
    Caution(
        "Static",
        "Discharge yourself and wear an earthed wrist strap with the board unpowered; old chips "
        "die of a spark that nobody feels.",
    ),
)
"""Source: common practice in electronics repair. None of it replaces local rules or training."""


def cautions_sentence() -> str:
    """The cautions in one short passage, for places with no room for the table.

    >>> cautions_sentence()[:30]
    'Before touching the board: loc'
    """
    return (
        "Before touching the board: local rules and licensed practice come first; power off and "
        "unplugged; capacitors discharged; mains and picture-tube sections left to qualified "
        "people; beware of leaking batteries, lead solder, old insulation and static."
    )
