"""The accounts of a finding as histories that a reader can tell apart, each in a clause.

Knows how accounts are put in words. Two that differ only in whether a group of one part was
refitted or its part replaced are one history: either way that part was fitted later.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from provenance.notes import words
from provenance.notes.bounded import most
from provenance.notes.statements import groups_phrase, lone_refs, section_names, see_record

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from provenance.inference.finding import Account, Finding, Window


class History(NamedTuple):
    """One history: the places of its accounts in the finding, its probability and its clause."""

    accounts: tuple[int, ...]
    probability: float
    said: str


class _Told(NamedTuple):
    """What is told of an account, its dates apart."""

    works: tuple[tuple[str, ...], ...]
    lone: frozenset[str]
    """Parts fitted later that are each all of their group."""
    replaced: tuple[str, ...]
    """Other parts that were likely replaced."""


def histories(finding: Finding) -> tuple[History, ...]:
    """The histories that the accounts tell, most probable first."""
    lone = lone_refs(finding)
    of_group = {g.name: g.parts[0] for g in finding.groups if lone.issuperset(g.parts) and g.parts}
    alike: dict[_Told, list[int]] = {}
    for number, account in enumerate(finding.accounts):
        alone = {of_group[w.groups[0]] for w in account.works if _alone(w.groups, of_group)}
        told = _Told(
            tuple(w.groups for w in account.works if not _alone(w.groups, of_group)),
            frozenset(alone | (lone & set(account.replaced))),
            tuple(ref for ref in account.replaced if ref not in lone),
        )
        alike.setdefault(told, []).append(number)
    found = [
        History(
            tuple(numbers),
            min(sum(finding.accounts[n].probability for n in numbers), most(finding)),
            _phrase(finding, told, [finding.accounts[n] for n in numbers], of_group),
        )
        for told, numbers in alike.items()
    ]
    return tuple(sorted(found, key=lambda history: -history.probability))


def _alone(groups: Sequence[str], of_group: dict[str, str]) -> bool:
    """True for a work on one group of one part."""
    return len(groups) == 1 and groups[0] in of_group


def _phrase(
    finding: Finding, told: _Told, accounts: Sequence[Account], of_group: dict[str, str]
) -> str:
    """A history as a clause, without its probability; its dates hold those of its accounts."""
    said = [f"built {_when(a.build for a in accounts)}"]
    works = [[w for w in a.works if not _alone(w.groups, of_group)] for a in accounts]
    for number, groups in enumerate(told.works):
        fitted = _when(mine[number].fitted for mine in works)
        said.append(f"{groups_phrase(section_names(finding, groups))} fitted later, {fitted}")
    for ref in sorted(told.lone, key=words.natural):
        alone = [w for a in accounts for w in a.works if _alone(w.groups, of_group)]
        dated = [w.fitted for w in alone if of_group[w.groups[0]] == ref]
        # An account in which it was replaced on its own gives no date.
        fitted = f", {_when(dated)}" if len(dated) == len(accounts) else ""
        record = see_record(finding, [ref])
        said.append(f"{words.visible(ref)} fitted later{f' ({record})' if record else fitted}")
    if not (told.works or told.lone):
        said.append("no group fitted later")
    if told.replaced:
        own = "its own" if len(told.replaced) == 1 else "their own"
        record = see_record(finding, told.replaced)
        said.append(
            f"{words.refs(told.replaced, limit=6)} likely replaced on {own}"
            + (f" ({record})" if record else "")
        )
    return "; ".join(said)


def _when(windows: Iterable[Window]) -> str:
    """The span that holds several windows, in prose."""
    found = list(windows)
    return words.when(min(w.first for w in found), max(w.last for w in found))
