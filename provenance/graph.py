"""The constraint graph: what the relations of a survey say about which parts went in when.

Knows how sections, parts and evidence hang together, how 'fitted with' makes one fit group of
several sections, and how 'fitted after' and 'mounted on' order the groups. Knows nothing about
dates. networkx does the graph work.

Parts of one section with one mount are a fit group. 'A fitted with B' makes one group of all of
A and B. Order between sections holds for all their groups.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import networkx as nx

from provenance.errors import ProvenanceError
from provenance.survey.prose import listed
from provenance.survey.wording import shown

if TYPE_CHECKING:
    from provenance.survey.model import Mount, Relation, Survey, SurveyedPart

_MOST_NAMED = 12
"""Most relations that one message names."""


class GraphError(ProvenanceError):
    """Relations that cannot all hold, and the likely fix; ``relations`` are their places in the
    survey's list."""

    def __init__(self, problem: str, fix: str, relations: tuple[int, ...] = ()) -> None:
        super().__init__(problem, fix, relations)  # From which it is made anew in another process.
        self.problem = problem
        self.fix = fix
        self.relations = relations

    def __str__(self) -> str:
        return f"relations: {self.problem}. Fix: {self.fix}"


class FitGroup(NamedTuple):
    """Parts that went in together; ``mount`` is None where it is mixed or not noted."""

    name: str
    sections: tuple[str, ...]
    refs: tuple[str, ...]
    mount: Mount | None


class FitGroups(NamedTuple):
    """The fit groups of a board and their partial order.

    A pair ``(i, j)`` of ``order`` says that group i was fitted no later than group j; the two may
    belong to one episode. The order is transitively closed and never reflexive.
    """

    groups: tuple[FitGroup, ...]
    order: frozenset[tuple[int, int]]


def survey_graph(survey: Survey) -> nx.MultiDiGraph[str]:
    """The survey as a graph.

    Nodes are ``board``, ``section NAME``, ``part REF`` and ``evidence N`` (from 1), each with its
    ``kind`` and what was recorded of it. An edge's ``relation`` is 'occupies' (part to section,
    section to board), 'fitted with', 'fitted after', 'mounted on' (section to section) or
    'speaks of' (evidence to board or section).
    """
    graph: nx.MultiDiGraph[str] = nx.MultiDiGraph()
    graph.add_node("board", kind="board", title=survey.board.title)
    for name in survey.sections:
        graph.add_node(f"section {name}", kind="section", name=name)
        graph.add_edge(f"section {name}", "board", relation="occupies")
    for part in survey.parts():
        graph.add_node(
            f"part {part.ref}",
            kind="part",
            ref=part.ref,
            marking=part.marking,
            mount=part.mount,
            joints=part.joints,
        )
        graph.add_edge(f"part {part.ref}", f"section {part.section}", relation="occupies")
    for number, evidence in enumerate(survey.evidence, start=1):
        graph.add_node(f"evidence {number}", kind="evidence", evidence=evidence.kind)
        about = "board" if evidence.section is None else f"section {evidence.section}"
        graph.add_edge(f"evidence {number}", about, relation="speaks of")
    for relation in survey.relations:
        graph.add_edge(
            f"section {relation.subject}", f"section {relation.object}", relation=relation.kind
        )
    return graph


def fit_groups(survey: Survey) -> FitGroups:
    """The fit groups of a survey, in file order, and their partial order.

    Raises GraphError, naming the members in words, where the relations cannot all hold.
    """
    together = _together(survey)
    place = {name: number for number, name in enumerate(survey.sections)}
    blocks = sorted(
        (sorted(block, key=place.__getitem__) for block in nx.connected_components(together)),
        key=lambda block: place[block[0]],
    )
    block_of = {name: number for number, block in enumerate(blocks) for name in block}

    earlier: nx.DiGraph[int] = nx.DiGraph()
    for number, relation in enumerate(survey.relations):
        if relation.kind == "fitted with":
            continue
        first, then = block_of[relation.object], block_of[relation.subject]
        if first == then:
            if relation.kind == "fitted after":
                raise _contradiction(survey.relations, number, together)
            continue  # An adapter board is mounted on what it was fitted with: no contradiction.
        if not earlier.has_edge(first, then):
            earlier.add_edge(first, then, relation=number)
    _refuse_cycle(earlier, survey.relations, together)

    closed: nx.DiGraph[int] = nx.transitive_closure_dag(earlier)
    parts: dict[str, list[SurveyedPart]] = {name: [] for name in survey.sections}
    for part in survey.parts():
        parts[part.section].append(part)
    groups: list[FitGroup] = []
    of_block: dict[int, list[int]] = {}
    for number, block in enumerate(blocks):
        for group in _groups_of(block, parts):
            of_block.setdefault(number, []).append(len(groups))
            groups.append(group)
    order = frozenset(
        (i, j)
        for first, then in closed.edges
        for i in of_block.get(first, ())
        for j in of_block.get(then, ())
    )
    return FitGroups(tuple(groups), order)


def fitted_with(survey: Survey, section: str) -> frozenset[str]:
    """A section and those that went in with it, whether they have parts or not."""
    return frozenset(nx.node_connected_component(_together(survey), section))


def _together(survey: Survey) -> nx.Graph[str]:
    """The sections, those joined that went in together."""
    together: nx.Graph[str] = nx.Graph()
    together.add_nodes_from(survey.sections)
    together.add_edges_from(
        (relation.subject, relation.object)
        for relation in survey.relations
        if relation.kind == "fitted with"
    )
    return together


def _groups_of(block: list[str], by_section: dict[str, list[SurveyedPart]]) -> list[FitGroup]:
    """The fit groups of sections that belong together: one, or for a lone section one a mount."""
    occupied = tuple(name for name in block if by_section[name])
    parts = [part for name in occupied for part in by_section[name]]
    if not parts:
        return []
    mounts = list(dict.fromkeys(part.mount for part in parts))
    if len(block) > 1 or len(mounts) == 1:
        mount = mounts[0] if len(mounts) == 1 else None
        return [FitGroup(" + ".join(occupied), occupied, tuple(p.ref for p in parts), mount)]
    return [
        FitGroup(
            f"{block[0]} ({mount or 'mount not noted'})",
            (block[0],),
            tuple(part.ref for part in parts if part.mount == mount),
            mount,
        )
        for mount in mounts
    ]


def _contradiction(
    relations: tuple[Relation, ...], number: int, together: nx.Graph[str]
) -> GraphError:
    """'fitted after' between sections that 'fitted with' makes one group."""
    after = relations[number]
    ties = _ties(relations, together, after.subject, after.object)
    said = listed((f"'{shown(relations[tie].sentence)}'" for tie in ties), limit=_MOST_NAMED)
    return GraphError(
        f"'{shown(after.sentence)}' contradicts {said}: sections that went in together "
        "cannot have gone in one after the other",
        "take one of these relations out",
        (*ties, number),
    )


def _ties(
    relations: tuple[Relation, ...], together: nx.Graph[str], one: str, other: str
) -> list[int]:
    """The fewest 'fitted with' relations that make one group of two sections."""
    steps = {frozenset(step) for step in pairwise(nx.shortest_path(together, one, other))}
    tied: dict[frozenset[str], int] = {}
    for number, relation in enumerate(relations):
        pair = frozenset((relation.subject, relation.object))
        if relation.kind == "fitted with" and pair in steps:
            tied.setdefault(pair, number)
    return list(tied.values())


def _refuse_cycle(
    earlier: nx.DiGraph[int], relations: tuple[Relation, ...], together: nx.Graph[str]
) -> None:
    """Raise GraphError where groups would each have to come before the other."""
    try:
        cycle = nx.find_cycle(earlier)
    except nx.NetworkXNoCycle:
        return
    steps = [earlier.edges[first, then]["relation"] for first, then, *_ in cycle]
    numbers: list[int] = []
    for step, following in zip(steps, [*steps[1:], steps[0]], strict=True):
        numbers.append(step)
        reached, left = relations[step].subject, relations[following].object
        numbers += _ties(relations, together, reached, left)
    said = listed(
        (f"'{shown(relations[number].sentence)}'" for number in numbers), limit=_MOST_NAMED
    )
    raise GraphError(
        f"{said} form a circle, so none of these sections could have gone in first",
        "take one of these relations out or turn it round",
        tuple(numbers),
    )
