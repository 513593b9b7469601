"""The constraint graph, fit groups and their order."""

from __future__ import annotations

import itertools
import pickle
from typing import Any

import networkx as nx
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from provenance.graph import FitGroup, FitGroups, GraphError, fit_groups
from provenance.survey.model import Survey


def survey(sections: dict[str, Any], *relations: str, **more: Any) -> Survey:
    """A survey of these sections: a number of socketed parts, or the section in full."""
    full = {}
    for name, content in sections.items():
        if isinstance(content, int):
            parts = {f"{name}{n}": "7923" for n in range(content)}
            full[name] = {"mount": "socketed", "parts": parts}
        else:
            full[name] = content
    return Survey.model_validate({"sections": full, "relations": relations, **more})


def by_refs(found: FitGroups) -> tuple[set[frozenset[str]], set[tuple[frozenset[str], ...]]]:
    """Groups and order told by references alone."""
    refs = [frozenset(group.refs) for group in found.groups]
    return set(refs), {(refs[i], refs[j]) for i, j in found.order}


MIXED = {
    "mount": "soldered",
    "parts": {"U1": "7923", "U2": {"marking": "7924", "mount": "socketed"}, "U3": "7925"},
}


def test_a_section_with_one_mount_is_one_group() -> None:
    assert fit_groups(survey({"a": 2, "b": 1})).groups == (
        FitGroup("a", ("a",), ("a0", "a1"), "socketed"),
        FitGroup("b", ("b",), ("b0",), "socketed"),
    )


def test_a_section_with_two_mounts_is_two_groups() -> None:
    assert fit_groups(survey({"main": MIXED})).groups == (
        FitGroup("main (soldered)", ("main",), ("U1", "U3"), "soldered"),
        FitGroup("main (socketed)", ("main",), ("U2",), "socketed"),
    )


def test_parts_of_no_noted_mount_are_a_group_of_their_own() -> None:
    section = {"parts": {"U1": "7923", "U2": {"marking": "7924", "mount": "socketed"}}}
    assert [
        (group.name, group.mount) for group in fit_groups(survey({"main": section})).groups
    ] == [
        ("main (mount not noted)", None),
        ("main (socketed)", "socketed"),
    ]


def test_fitted_with_makes_one_group_of_sections_and_of_their_mounts() -> None:
    found = fit_groups(survey({"main": MIXED, "x": 1, "y": 1}, "y fitted with main"))
    assert found.groups == (
        FitGroup("main + y", ("main", "y"), ("U1", "U2", "U3", "y0"), None),
        FitGroup("x", ("x",), ("x0",), "socketed"),
    )


def test_fitted_after_and_mounted_on_order_groups() -> None:
    found = fit_groups(survey({"a": 1, "b": 1, "c": 1}, "b fitted after a", "c mounted on b"))
    assert found.order == {(0, 1), (1, 2), (0, 2)}


def test_order_between_sections_holds_for_all_their_groups() -> None:
    found = fit_groups(survey({"main": MIXED, "a": 1}, "main fitted after a"))
    assert found.order == {(2, 0), (2, 1)}


def test_sections_without_parts_give_no_group_but_carry_the_order() -> None:
    found = fit_groups(
        survey({"a": 1, "empty": {}, "c": 1}, "empty fitted after a", "c fitted after empty")
    )
    assert [group.name for group in found.groups] == ["a", "c"]
    assert found.order == {(0, 1)}


def test_an_empty_section_ties_groups_together_and_is_not_named() -> None:
    found = fit_groups(
        survey({"a": 1, "empty": {}, "c": 1}, "a fitted with empty", "empty fitted with c")
    )
    assert found.groups == (FitGroup("a + c", ("a", "c"), ("a0", "c0"), "socketed"),)


def test_an_adapter_may_be_mounted_on_what_it_was_fitted_with() -> None:
    found = fit_groups(survey({"a": 1, "b": 1}, "a fitted with b", "a mounted on b"))
    assert len(found.groups) == 1
    assert found.order == frozenset()


@pytest.mark.parametrize(
    ("relations", "said", "numbers"),
    [
        (
            ("a fitted after b", "b fitted after a"),
            "relations: 'b fitted after a' and 'a fitted after b' form a circle, so none of "
            "these sections could have gone in first. "
            "Fix: take one of these relations out or turn it round",
            {0, 1},
        ),
        (
            ("a fitted after b", "c fitted after a", "d fitted after a", "b mounted on c"),
            "relations: 'c fitted after a', 'b mounted on c' and 'a fitted after b' form a "
            "circle, so none of these sections could have gone in first. "
            "Fix: take one of these relations out or turn it round",
            {0, 1, 3},
        ),
        (
            ("a fitted with b", "a fitted after b"),
            "relations: 'a fitted after b' contradicts 'a fitted with b': sections that went in "
            "together cannot have gone in one after the other. "
            "Fix: take one of these relations out",
            {0, 1},
        ),
        (
            ("a fitted with b", "d fitted with c", "c fitted with b", "a fitted after c"),
            "relations: 'a fitted after c' contradicts 'a fitted with b' and 'c fitted with b': "
            "sections that went in together cannot have gone in one after the other. "
            "Fix: take one of these relations out",
            {0, 2, 3},
        ),
    ],
)
def test_relations_that_cannot_all_hold_are_named(
    relations: tuple[str, ...], said: str, numbers: set[int]
) -> None:
    board = survey({"a": 1, "b": 1, "c": 1, "d": 1}, *relations)
    with pytest.raises(GraphError) as caught:
        fit_groups(board)
    # The circle may be told from any of its members on.
    assert set(caught.value.relations) == numbers
    assert sorted(str(caught.value)) == sorted(said)
    for number in numbers:
        assert f"'{relations[number]}'" in str(caught.value)


def test_a_circle_through_sections_fitted_together_is_found() -> None:
    board = survey(
        {"a": 1, "b": 1, "c": 1}, "a fitted with b", "c fitted after a", "b fitted after c"
    )
    with pytest.raises(GraphError, match="form a circle") as caught:
        fit_groups(board)
    assert "'a fitted with b'" in str(caught.value)
    assert caught.value.fix == "take one of these relations out or turn it round"
    there = pickle.loads(pickle.dumps(caught.value))
    assert (str(there), vars(there)) == (str(caught.value), vars(caught.value))


def test_the_graph_holds_board_sections_parts_and_evidence() -> None:
    graph = survey(
        {"a": 1, "b": 2},
        "b fitted after a",
        evidence=[
            {"kind": "bare board code", "marking": "7916"},
            {"kind": "document", "says": "in use by", "date": "1981", "section": "b"},
        ],
    ).graph()
    assert isinstance(graph, nx.MultiDiGraph)
    kinds = [data["kind"] for _, data in graph.nodes(data=True)]
    assert {kind: kinds.count(kind) for kind in kinds} == {
        "board": 1,
        "section": 2,
        "part": 3,
        "evidence": 2,
    }
    assert {(a, b, data["relation"]) for a, b, data in graph.edges(data=True)} == {
        ("section a", "board", "occupies"),
        ("section b", "board", "occupies"),
        ("part a0", "section a", "occupies"),
        ("part b0", "section b", "occupies"),
        ("part b1", "section b", "occupies"),
        ("section b", "section a", "fitted after"),
        ("evidence 1", "board", "speaks of"),
        ("evidence 2", "section b", "speaks of"),
    }
    assert graph.nodes["part a0"]["marking"] == "7923"


NAMES = "abcdef"
related = st.lists(
    st.tuples(
        st.sampled_from(NAMES),
        st.sampled_from(["fitted with", "fitted after", "mounted on"]),
        st.sampled_from(NAMES),
    ).filter(lambda relation: relation[0] != relation[2]),
    max_size=7,
)
filled = st.fixed_dictionaries({name: st.integers(0, 2) for name in NAMES}).filter(
    lambda parts: any(parts.values())
)


@settings(max_examples=150)
@given(parts=filled, relations=related, order=st.permutations(NAMES))
def test_the_order_of_sections_and_relations_changes_nothing(
    parts: dict[str, int], relations: list[tuple[str, str, str]], order: list[str]
) -> None:
    said = [" ".join(relation) for relation in relations]
    first = survey(parts, *said)
    second = survey({name: parts[name] for name in order}, *reversed(said))
    try:
        found = by_refs(fit_groups(first))
    except GraphError:
        with pytest.raises(GraphError):
            fit_groups(second)
        return
    assert by_refs(fit_groups(second)) == found


@settings(max_examples=150)
@given(parts=filled, relations=related)
def test_the_order_is_what_every_possible_history_agrees_on(
    parts: dict[str, int], relations: list[tuple[str, str, str]]
) -> None:
    """By brute force: give each section a number 0 to 5 in every way that the relations allow.

    Independent of networkx. Group i is before group j exactly where no history has it later.
    """
    board = survey(parts, *(" ".join(relation) for relation in relations))
    try:
        found = fit_groups(board)
    except GraphError:
        assume(False)
    histories = []
    for times in itertools.product(range(3), repeat=len(NAMES)):
        at = dict(zip(NAMES, times, strict=True))
        if all(
            at[a] == at[b] if kind == "fitted with" else at[a] >= at[b] for a, kind, b in relations
        ):
            histories.append(at)
    together = {
        (a, b)
        for a, b in itertools.product(NAMES, repeat=2)
        if all(at[a] == at[b] for at in histories)
    }
    groups = [set(group.sections) for group in found.groups]
    for a, b in itertools.product([name for name in NAMES if parts[name]], repeat=2):
        i, j = (next(n for n, group in enumerate(groups) if name in group) for name in (a, b))
        assert (i == j) == ((a, b) in together)
        if i != j:
            assert ((i, j) in found.order) == all(at[a] <= at[b] for at in histories)
