"""Why the finding is what it is: weights of evidence, what carries it, what would settle it.

Knows how to say the weights, carriers and inspections that the inference worked out; works out
none itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from provenance.errors import ProvenanceError
from provenance.markings.schemes import all_schemes
from provenance.notes import words
from provenance.notes.bounded import bounded
from provenance.notes.cautions import cautions_sentence
from provenance.notes.folding import bulleted, folded
from provenance.notes.histories import histories
from provenance.notes.statements import (
    built_phrase,
    date_read,
    groups_phrase,
    in_place_of_date,
    lone_refs,
    section_names,
    see_record,
    standings,
    with_parts,
)

if TYPE_CHECKING:
    from provenance.inference.finding import (
        Carrier,
        Comparison,
        Finding,
        Inspection,
        PartFinding,
        Weight,
    )
    from provenance.notes.histories import History
    from provenance.notes.statements import Standing
    from provenance.survey.model import Survey

LITTLE_SHIFT_WEEKS = 0.5
"""A shift of the median smaller than this is called no shift."""

SCALE_NOTE = (
    "Weights are in decibans: 10 decibans multiply the odds by ten, 3 double them. Plus speaks for "
    "'original', minus for 'later'."
)
"""Source of the unit: I. J. Good, Probability and the Weighing of Evidence, 1950."""

BITS_NOTE = "What an observation tells is in bits: one bit halves what is still possible."
"""Source of the unit: C. E. Shannon, A Mathematical Theory of Communication, 1948."""

SOURCES = {"prior": "before looking"}
"""What a source of weights is called where its own name says too little."""


def weight_sentence(weight: Weight) -> str:
    """One weight of evidence: its source, how strong, for which side, and why."""
    why = words.visible(weight.why).strip().rstrip(".")
    source = SOURCES.get(weight.source, weight.source)
    said = f"{source}: {words.evidence(weight.decibans, 'original', 'later')}"
    return words.sentence(f"{said}: {why}" if why else said)


def part_reasons(part: PartFinding) -> tuple[str, ...]:
    """The weights of evidence of one part, heaviest first, in sentences."""
    ordered = sorted(part.weights, key=lambda weight: -abs(weight.decibans))
    return tuple(weight_sentence(weight) for weight in ordered)


def carrier_sentence(carrier: Carrier) -> str:
    """What happens to the build window without one observation."""
    build = words.when(carrier.build.first, carrier.build.last)
    size = abs(carrier.shift_weeks)
    if size < LITTLE_SHIFT_WEEKS:
        moved = "its middle would stay"
    else:
        way = "later" if carrier.shift_weeks > 0 else "earlier"
        moved = f"its middle would move {_weeks(size)} {way}"
    said = words.visible(carrier.observation).strip().rstrip(".")
    return words.sentence(
        f"without {said}, the build would fall {build} and {moved} ({_bits(carrier.bits)} lost)"
    )


def carrier_sentences(finding: Finding) -> tuple[str, ...]:
    """What happens to the build window without each observation; of a board that nothing dates
    there is nothing to tell, for its window is what was assumed."""
    return tuple(map(carrier_sentence, finding.carriers)) if finding.build.dated else ()


def inspection_sentences(
    inspections: Iterable[Inspection], *, gain: bool = True, most: int | None = None
) -> tuple[str, ...]:
    """Observations not yet made, those that tell most first: what, how, its caution, and with
    ``gain`` what it should bring. Those made in one way are told together; ``most`` are told."""
    ordered = sorted(inspections, key=lambda found: -found.expected_bits)[:most]
    alike: dict[tuple[str, str, str], list[Inspection]] = {}
    for found in ordered:
        alike.setdefault((found.about, found.how, found.caution), []).append(found)
    return tuple(_inspections(some, gain=gain) for some in alike.values())


def _inspections(some: list[Inspection], *, gain: bool) -> str:
    """Observations that are made in one way and tell about one thing."""
    first, *others = some
    about = "the build date" if first.about == "build" else "the origin"
    named = [words.visible(one.observation).strip().rstrip(".") for one in some]
    if gain:
        brings = [f"expected to bring {_bits(first.expected_bits)} about {about}"]
        brings += [_bits(one.expected_bits) for one in others]
        what = words.listed(f"{n} ({b})" for n, b in zip(named, brings, strict=True))
    else:
        what = f"{words.listed(named)} ({'each tells' if others else 'tells'} about {about})"
    said = [words.sentence(what), words.sentence(words.visible(first.how))]
    if first.caution:
        said.append(words.sentence(f"caution: {words.visible(first.caution)}"))
    return " ".join(piece for piece in said if piece)


def comparison_sentences(finding: Finding, *, in_full: bool = True) -> tuple[tuple[str, ...], ...]:
    """For each two histories compared, the odds, then what each observation says for either.

    Without ``in_full`` the histories are named by number alone, for a page that has listed them.
    """
    told = histories(finding)
    place = {account: number for number, one in enumerate(told, 1) for account in one.accounts}
    said: dict[tuple[int, int], tuple[str, ...]] = {}
    for comparison in finding.comparisons:
        first, second = place[comparison.first], place[comparison.second]
        if first != second and (first, second) not in said:
            said[first, second] = _compared(told, first, second, comparison, in_full=in_full)
    return tuple(said.values())


def _compared(
    told: Sequence[History], first: int, second: int, comparison: Comparison, *, in_full: bool
) -> tuple[str, ...]:
    """Two histories by their numbers, the observations of the likeliest accounts of each."""
    sides = named = (f"account {first}", f"account {second}")
    one, other = told[first - 1], told[second - 1]
    if in_full:
        named = (f"{sides[0]} ({one.said})", f"{sides[1]} ({other.said})")
    ratio = words.odds(one.probability, other.probability)
    ordered = sorted(comparison.observations, key=lambda found: -abs(found.decibans))
    return (
        words.sentence(f"{named[0]} against {named[1]}: odds {ratio}"),
        *(
            words.sentence(
                f"{words.visible(found.observation)}: {words.evidence(found.decibans, *sides)}"
            )
            for found in ordered
        ),
    )


ASKED_FROM = 0.05
"""A group that may be later with this probability is asked about, and so is a socketed one."""


def factory_or_later(finding: Finding) -> tuple[str, ...]:
    """For each group that is socketed or may be later: the factory's work, or added since?

    Of a group of one part, or of one whose parts were each replaced, what is asked is whether any
    of them is original, not who fitted their sockets.
    """
    original = {p.ref: p.origin.original for p in finding.parts}
    lone = lone_refs(finding)
    # What may be no more than the bound on the error is not asked about.
    asked_from = max(ASKED_FROM, 1.001 * finding.method.error_bound)
    said = []
    for group in finding.groups:
        name, high = groups_phrase(section_names(finding, [group.name])), group.original
        each = [original[ref] for ref in group.parts if ref in original]
        if each and (max(each) < 0.5 <= high or lone.issuperset(group.parts)):
            name, high = with_parts(name, words.refs(group.parts, limit=4)), max(each)
        low = 1 - high
        if group.mount != "socketed" and low < asked_from:
            continue
        # What stands in the record may be no more than a cleaning, and an original part stays one.
        if high < 0.5 and (record := see_record(finding, group.parts)):
            said.append(words.sentence(f"{name}: {record}"))
            continue
        likelier, other = ("fitted by the factory", "added later")
        if low > high:
            likelier, other, high, low = other, likelier, low, high
        said.append(
            words.sentence(
                f"{name}: {likelier}, {words.probable(high)}, against {other} "
                f"(odds {words.odds(high, low)})"
            )
        )
    return tuple(said)


def why_text(finding: Finding, survey: Survey, ref: str | None = None, width: int = 80) -> str:
    """The reasons as text: for one part where ``ref`` names it, else for the board.

    Raises ProvenanceError where the board has no part of that reference.
    """
    finding = bounded(finding)
    if ref is not None:
        found = next((s for s in standings(finding, survey) if s.part.ref == ref), None)
        if found is None:
            raise ProvenanceError(
                f"the board has no part {words.visible(ref)!r}. "
                f"Fix: use {meant(ref, finding.parts)}"
            )
        blocks = [_part_block(found)]
    else:
        blocks = [*_board_blocks(finding), *part_blocks(standings(finding, survey))]
    in_bits = ref is None and (finding.carriers or finding.inspections)
    blocks.append(("", (SCALE_NOTE, BITS_NOTE) if in_bits else (SCALE_NOTE,)))
    return "\n\n".join(_block(heading, lines, width) for heading, lines in blocks) + "\n"


def meant(ref: str, parts: Sequence[PartFinding]) -> str:
    """The part that a wrong reference means, or those of the section that it names, or all."""
    bare, name = "".join(ref.split()).casefold(), ref.strip().casefold()
    if same := [part.ref for part in parts if part.ref.casefold() == bare]:
        return words.listed(dict.fromkeys(map(words.visible, same)), last="or")
    of_section = [part.ref for part in parts if part.section.casefold() == name]
    return f"one of {words.refs(of_section or [part.ref for part in parts], limit=12)}"


def _board_blocks(finding: Finding) -> list[tuple[str, tuple[str, ...]]]:
    blocks: list[tuple[str, tuple[str, ...]]] = [
        (
            words.sentence(built_phrase(finding)),
            tuple(words.sentence(words.visible(said)) for said in finding.rests_on),
        )
    ]
    if carried := carrier_sentences(finding):
        blocks.append(("What carries the result", carried))
    if asked := factory_or_later(finding):
        blocks.append(("From the factory, or added later?", asked))
    blocks += [(first, tuple(rest)) for first, *rest in comparison_sentences(finding)]
    if finding.inspections:
        said = (*inspection_sentences(finding.inspections), cautions_sentence())
        blocks.append(("What to look at next", said))
    return blocks


def _part_block(found: Standing) -> tuple[str, tuple[str, ...]]:
    part = found.part
    heading = (
        f"{words.visible(part.ref)} ({words.visible(part.marking)}), "
        f"{words.visible(part.section)}: {_origin(found)}"
    )
    return heading, (reading_sentence(part), *part_reasons(part))


def _origin(found: Standing) -> str:
    if found.recorded:
        said = "a recorded work names it"
        if found.doubtful or any(w.source == "known work" for w in found.part.weights):
            return said
        later = words.probable(1 - found.part.origin.original)
        return f"{said}; by its marks not original, {later}"
    return f"{found.kind}{'?' if found.doubtful else ''}, {words.probable(found.probability)}"


def part_blocks(found: tuple[Standing, ...]) -> list[tuple[str, tuple[str, ...]]]:
    """The parts in order; those that differ only in their dates are told together."""
    alike: dict[object, list[Standing]] = {}
    for s in found:
        others = tuple(weight_sentence(w) for w in s.part.weights if w.source != "date")
        key = (s.part.section, s.kind, s.doubtful, s.recorded, others)
        alike.setdefault(key, []).append(s)
    return [_part_block(some[0]) if len(some) == 1 else _alike(some) for some in alike.values()]


def _alike(found: list[Standing]) -> tuple[str, tuple[str, ...]]:
    """Parts of one section and origin with the same weights but for their dates."""
    first = found[0]
    named = words.refs([s.part.ref for s in found])
    least = min(s.probability for s in found)
    origin = f"{first.kind}, {words.probable(least, len(found))}"
    heading = f"{named}, {words.visible(first.part.section)}: "
    weakest = min(found, key=lambda s: s.probability)
    heading += _origin(weakest) if first.recorded or first.doubtful else origin
    shared = [w for w in first.part.weights if w.source != "date"]
    shared.sort(key=lambda weight: -abs(weight.decibans))
    return heading, (*map(weight_sentence, shared), *(_dated(s.part) for s in found))


def _dated(part: PartFinding) -> str:
    """The reading of one part among several, with what its date weighs."""
    named = f"{words.visible(part.ref)} ({words.visible(part.marking)})"
    weights = [weight_sentence(w) for w in part.weights if w.source == "date"]
    return " ".join([f"{named}: {reading_sentence(part)}", *weights])


def reading_sentence(part: PartFinding) -> str:
    """How the marking of a part was read."""
    read = date_read(part)
    if read is None:
        unsaid = in_place_of_date(part)
        return words.sentence(f"{unsaid.clause}: {words.probable(unsaid.probability)}")
    names = {scheme.key: scheme.name for scheme in all_schemes()}
    scheme = words.visible(names.get(read.scheme, read.scheme))
    return words.sentence(
        f"{words.visible(read.text)} was read as {scheme}: "
        f"{words.when(read.first, read.last)}, {words.probable(read.probability)}"
    )


def _block(heading: str, lines: tuple[str, ...], width: int) -> str:
    head = folded(heading, width) if heading else []
    return "\n".join([*head, *([bulleted(lines, width)] if lines else [])])


def _weeks(size: float) -> str:
    whole = max(1, round(size))
    return words.counted(whole, "week")


def _bits(bits: float) -> str:
    """Information in bits, to a tenth below ten.

    >>> _bits(1.04), _bits(0.26), _bits(0.01)
    ('1 bit', '0.3 bits', 'under 0.1 bits')
    """
    if bits < 0.05:
        return "under 0.1 bits"
    said = f"{bits:.0f}" if bits >= 10 else f"{round(bits, 1):g}"
    return f"{said} {'bit' if said == '1' else 'bits'}"
