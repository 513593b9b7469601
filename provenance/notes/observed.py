"""What the recorder saw of the sections and parts of a board, in sentences.

Knows how mount, joints and remarks are said. What they are evidence of is the inference's; that
they stand in a note is what lets another person judge it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from provenance.notes import words

if TYPE_CHECKING:
    from provenance.survey.model import Joints, Mount, Part, Section, Survey, SurveyedPart

JOINTS: dict[Joints, str] = {
    "factory": "factory joints",
    "hand": "hand-made joints",
    "unclear": "unclear joints",
}


def observed(survey: Survey) -> tuple[str, ...]:
    """Each section with what was seen of it, then its parts of which more was seen.

    Parts of one section of which the same was seen are told together.
    """
    said = []
    for name, section in survey.sections.items():
        if seen := _of_section(section):
            said.append(words.sentence(f"{words.visible(name)}: {seen}"))
        alike: dict[str, list[str]] = {}
        for ref, part in section.parts.items():
            if seen := _of_part(part):
                alike.setdefault(seen, []).append(ref)
        said += [words.sentence(f"{words.refs(refs)}: {seen}") for seen, refs in alike.items()]
    return tuple(said)


def observed_part(part: SurveyedPart) -> str:
    """What was seen of one part, what its section says included; empty where nothing was."""
    return words.sentence(_listed(part.mount, part.joints, part.adapter, part.note))


def _of_section(section: Section) -> str:
    return _listed(section.mount, section.joints, False, section.area, section.note)


def _of_part(part: Part) -> str:
    return _listed(part.mount, part.joints, part.adapter, part.note)


def _listed(mount: Mount | None, joints: Joints | None, adapter: bool, *remarks: str | None) -> str:
    seen = [
        mount,
        JOINTS[joints] if joints else None,
        "on an adapter" if adapter else None,
        *(words.visible(" ".join(remark.split())).rstrip(".") for remark in remarks if remark),
    ]
    return "; ".join(piece for piece in seen if piece)
