"""What a person records of one board, or of several boards of one machine.

Knows the shape of a survey: its fields, the short forms that people type, and what each value may
be. Every value arrives as text and stays as typed until a field says what it means, so that a date
code such as ``0731`` is never taken for a number. Where parts of a survey must agree with each
other is in ``checks``; reading and writing files is in ``files``; what a marking or a date means
for the board is left to the markings and the inference.

>>> survey = Survey.model_validate({"sections": {"audio": {"parts": {"U1": "XR4558 / 7923"}}}})
>>> survey.parts()[0].marking
'XR4558\\n7923'
"""

import re
from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING, Annotated, Any, Literal, NamedTuple, Self, get_args

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    GetJsonSchemaHandler,
    PlainSerializer,
    WithJsonSchema,
    model_validator,
)
from pydantic_core import CoreSchema

from provenance.errors import ProvenanceError
from provenance.markings.houses import House, house_of
from provenance.survey.checks import MOST_PARTS, Disagreement, first_disagreement
from provenance.survey.dates import DateError, Days, edtf_days, in_edtf
from provenance.survey.typed import typed_marking
from provenance.survey.wording import CONTROL, NO_MARKING, article, nearest, one_of, shown, wrong

if TYPE_CHECKING:
    import networkx as nx

Bounds = tuple[date | None, date | None]
"""A first and a last day, both included; None is an open end."""

Mount = Literal["soldered", "socketed"]
Joints = Literal["factory", "hand", "unclear"]
Trade = Literal["mass production", "small series", "one-off", "workshop"]
RelationKind = Literal["fitted with", "fitted after", "mounted on"]
EvidenceKind = Literal[
    "bare board code", "inspection stamp", "document", "photograph", "serial number"
]
Says = Literal["in use by", "not before", "built on", "built between"]

LONGEST_TEXT = 5_000
"""Most characters of one value; a longer one is not something that was typed at a bench."""
LONGEST_NAME = 80
"""Most characters of a section's name or a reference."""


# ---- values: text in, meaning out ------------------------------------------------------------


def _text(value: object) -> str:
    """Text as typed, without the blanks around it."""
    if isinstance(value, str):
        text = value.strip()
        if not text:
            raise wrong("has no value", "write a value, or take the line out")
        if len(text) > LONGEST_TEXT:
            raise wrong(f"has {len(text):,} characters; {LONGEST_TEXT:,} is the most", "shorten it")
        if not text.isprintable() and (found := CONTROL.search(text)) is not None:
            raise wrong(
                f"holds the control character {shown(found[0])}",
                "take it out; write ? for a character that cannot be read",
            )
        return text
    if value is None:
        raise wrong("has no value", "write a value, or take the line out")
    if isinstance(value, Mapping | list | tuple):
        kind = "a mapping" if isinstance(value, Mapping) else "a list"
        raise wrong(f"is {kind} where text is expected", "write one line of text, in quotes")
    raise wrong(
        f"is a {type(value).__name__}, so the text as typed is lost", "hand it over as text"
    )


def _name(value: object) -> str:
    text = _text(value)
    if len(text) > LONGEST_NAME or "\n" in text:
        raise wrong(f"is too long for a name; {LONGEST_NAME} characters is the most", "shorten it")
    return text


def _marking(value: object) -> str:
    """The lines of a marking, joined by line ends: from text, lines, ``a / b``, or a list."""
    if isinstance(value, list | tuple):
        if any(isinstance(line, list | tuple) for line in value):
            raise wrong("has a list inside a list", "write one line of the marking an item")
        return "\n".join(_marking(line) for line in value) if value else _marking("")
    if value is None or (isinstance(value, str) and not value.strip()):
        raise wrong("has no marking", NO_MARKING)
    return typed_marking(_text(value))


_MEANT: dict[str, str] = {
    **dict.fromkeys(("before", "by", "until", "till", "not after", "not later than"), "in use by"),
    **dict.fromkeys(("no later than", "at the latest", "latest", "existed by"), "in use by"),
    **dict.fromkeys(("after", "since", "not earlier than"), "not before"),
    **dict.fromkeys(("no earlier than", "at the earliest", "earliest"), "not before"),
    **dict.fromkeys(("built", "built in", "made on", "made in"), "built on"),
    **dict.fromkeys(("between", "made between"), "built between"),
}
"""What people write for what a document says. The spelling alone leads astray: 'before' is most
like 'not before', its opposite."""


def _choice(names: tuple[str, ...], meant: Mapping[str, str] = {}) -> BeforeValidator:
    """Accept one of a few names, in any case and with ``_`` or ``-`` for a blank.

    ``meant`` has the right name for others that the spelling alone would not lead to.
    """

    def chosen(value: object) -> str:
        text = _text(value)
        plain = re.sub(r"[\s_]+", " ", text).casefold()
        known = {re.sub("-", " ", name): name for name in names}
        if (name := known.get(plain.replace("-", " "))) is not None:
            return name
        near = meant.get(plain.replace("-", " ")) or nearest(plain, names)
        raise wrong(
            f"'{shown(text)}' is not one of the choices {one_of(names)}",
            f"write {near}" if near else f"write {one_of(names)}",
        )

    return BeforeValidator(chosen)


def _edtf(value: object) -> str:
    text = _text(value)
    try:
        return in_edtf(text)
    except DateError as error:
        raise wrong(error.problem, error.fix) from None


def _day(value: object) -> date | None:
    if value is None or isinstance(value, date):
        return value
    text = _text(value)
    try:
        days = edtf_days(text)
    except DateError as error:
        raise wrong(error.problem, error.fix) from None
    if days.first is None or days.first != days.last:
        raise wrong(f"'{shown(text)}' is not one day", "write year-month-day, such as 2026-05-01")
    return days.first


def _yes(value: object) -> bool:
    if isinstance(value, bool):
        return value
    text = _text(value)
    if text.casefold() not in ("yes", "no", "true", "false"):
        raise wrong(f"'{shown(text)}' is neither yes nor no", "write yes or no")
    return text.casefold() in ("yes", "true")


def _share(value: object) -> float | None:
    if value is None or isinstance(value, float):
        text, number = str(value), value
    else:
        text = _text(value)
        try:
            number = float(text)
        except ValueError:
            raise wrong(
                f"'{shown(text)}' is not a number", "write a number from 0 to 1, such as 0.9"
            ) from None
    if number is not None and not 0 <= number <= 1:
        raise wrong(
            f"'{shown(text)}' is not between 0 and 1", "write a number from 0 to 1, such as 0.9"
        )
    return number


def _unique_names(value: object) -> object:
    """Refuse names that differ in the blanks around them only: one would hide the other."""
    if isinstance(value, Mapping):
        seen: set[str] = set()
        for key in value:
            name = key.strip() if isinstance(key, str) else key
            if name in seen:
                raise wrong(
                    f"'{shown(str(name))}' is there twice", "give each its own name", (key,)
                )
            seen.add(name)
    return value


def _listed(value: object) -> object:
    """A list of references, or the same in one line with commas."""
    if isinstance(value, str):
        return [item for item in (piece.strip() for piece in value.split(",")) if item]
    return value


def _house(value: object) -> House:
    """A house scheme from its entry: name, pattern and, if known, years and source."""
    if isinstance(value, House):
        return value
    if not isinstance(value, Mapping):
        raise wrong("is not a house scheme", "write an entry with name: and pattern:")
    entry = {key: _text(item) for key, item in value.items() if item is not None}
    try:
        return house_of(entry)
    except ProvenanceError as error:
        raise wrong(str(error), "see the patterns of house schemes in the description") from None


def _house_entry(house: House) -> dict[str, str]:
    """The entry that gives a house scheme."""
    entry = {"name": house.name, "pattern": house.pattern, "source": house.source}
    if house.first or house.last:
        entry["years"] = f"{house.first or '..'}/{house.last or '..'}"
    return {key: value for key, value in entry.items() if value}


# An editor that checks a survey reads a bare 7923 as a number; the schema must let it pass.
_AS_TYPED: dict[str, Any] = {"type": ["string", "number", "boolean"]}
_MARKING_SCHEMA: dict[str, Any] = {
    "anyOf": [_AS_TYPED, {"type": "array", "items": _AS_TYPED, "minItems": 1}],
    "description": "The characters as read, line by line (a list, a block, or ' / ' between "
    "lines); ? for a character that cannot be read.",
}
_DATE_SCHEMA: dict[str, Any] = {
    "type": ["string", "number"],
    "description": "EDTF: 1979, 1979-08, 1979-08-02, 197X, 1977/1983, 1977/.., with ~ ? or % "
    "for approximate, uncertain or both.",
}

Text = Annotated[str, BeforeValidator(_text), WithJsonSchema(_AS_TYPED)]
Name = Annotated[str, BeforeValidator(_name), WithJsonSchema(_AS_TYPED)]
MarkingText = Annotated[str, BeforeValidator(_marking), WithJsonSchema(_MARKING_SCHEMA)]
DateText = Annotated[str, BeforeValidator(_edtf), WithJsonSchema(_DATE_SCHEMA)]
MountField = Annotated[Mount, _choice(get_args(Mount))]
JointsField = Annotated[Joints, _choice(get_args(Joints))]
References = Annotated[
    tuple[Name, ...],
    BeforeValidator(_listed),
    WithJsonSchema({"anyOf": [_AS_TYPED, {"type": "array", "items": _AS_TYPED, "minItems": 1}]}),
]
HouseScheme = Annotated[
    House,
    BeforeValidator(_house),
    PlainSerializer(_house_entry),
    WithJsonSchema(
        {
            "type": "object",
            "properties": {
                "name": _AS_TYPED,
                "pattern": {"type": "string", "description": "Such as K{year1}{week}-{figures}."},
                "years": _DATE_SCHEMA,
                "source": _AS_TYPED,
            },
            "required": ["name", "pattern"],
            "additionalProperties": False,
        }
    ),
]


# ---- the models ------------------------------------------------------------------------------
# Annotations here are values, not text that pydantic would have to compile one by one at start.


class _Recorded(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)


class Board(_Recorded):
    """What identifies a board or a machine; every field is the person's own statement."""

    title: Text | None = Field(default=None, description="What to call it in the account.")
    maker: Text | None = Field(default=None, description="Who made it, as given by the user.")
    model: Text | None = Field(default=None, description="The model it belongs to.")
    revision: Text | None = Field(default=None, description="The revision printed on the board.")
    serial: Text | None = Field(default=None, description="The serial number.")
    place: Text | None = Field(default=None, description="Where it is kept.")
    owner: Text | None = Field(default=None, description="Whose it is.")


class Part(_Recorded):
    """One part: its marking, and how it is fitted where that differs from its section."""

    marking: MarkingText
    mount: MountField | None = Field(
        default=None, description="How it is fitted; default: its section's."
    )
    joints: JointsField | None = Field(
        default=None, description="Its joints; default: its section's."
    )
    note: Text | None = Field(default=None, description="Anything else seen on it.")
    adapter: Annotated[
        bool, BeforeValidator(_yes), WithJsonSchema({"type": ["boolean", "string"]})
    ] = Field(default=False, description="yes where it sits on an adapter.")

    @model_validator(mode="before")
    @classmethod
    def _short_form(cls, value: object) -> object:
        """A part may be just its marking, as text or as a list of lines."""
        if isinstance(value, Mapping | Part):
            return value
        return {"marking": _marking(value)}

    @classmethod
    def __get_pydantic_json_schema__(
        cls, core_schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """The full entry, or the marking alone."""
        return {"anyOf": [handler(core_schema), *_MARKING_SCHEMA["anyOf"]]}


class Section(_Recorded):
    """A functional area of the board, with the defaults that its parts inherit."""

    mount: MountField | None = Field(default=None, description="How its parts are fitted.")
    joints: JointsField | None = Field(default=None, description="How its joints look.")
    note: Text | None = Field(default=None, description="Anything else seen on it.")
    area: Text | None = Field(default=None, description="Where on the board it lies, in words.")
    parts: Annotated[dict[Name, Part], BeforeValidator(_unique_names)] = Field(
        default={}, description="Reference: marking, or a full entry."
    )


_SENTENCE = re.compile(rf"(.+?)\s+({'|'.join(get_args(RelationKind))})\s+(.+)", re.DOTALL)


class Relation(_Recorded):
    """How the fitting of one section stands to that of another: ``A fitted after B``."""

    kind: Annotated[RelationKind, _choice(get_args(RelationKind))]
    subject: Name = Field(description="The section spoken of.")
    object: Name = Field(description="The section it is set against.")

    @property
    def sentence(self) -> str:
        """The relation as a survey writes it."""
        return f"{self.subject} {self.kind} {self.object}"

    @model_validator(mode="before")
    @classmethod
    def _short_form(cls, value: Any) -> Any:
        if not isinstance(value, str):
            return value
        match = _SENTENCE.fullmatch(value.strip())
        if match is None:
            raise wrong(
                f"'{shown(value.strip())}' is not a relation between two sections",
                "write 'A fitted with B', 'A fitted after B' or 'A mounted on B', "
                "with the names of two sections",
            )
        return {"subject": match[1], "kind": match[2], "object": match[3]}

    @classmethod
    def __get_pydantic_json_schema__(
        cls, core_schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """The sentence, or its three parts."""
        sentence = {"type": "string", "pattern": "^.+ (fitted with|fitted after|mounted on) .+$"}
        return {"anyOf": [sentence, handler(core_schema)]}


class Evidence(_Recorded):
    """Something that speaks of the date besides the parts: a code, a stamp, a document."""

    kind: Annotated[EvidenceKind, _choice(get_args(EvidenceKind))] = Field(
        description="What speaks."
    )
    marking: MarkingText | None = Field(default=None, description="What is written there, as read.")
    date: DateText | None = Field(default=None, description="The date it gives, in EDTF.")
    says: Annotated[Says, _choice(get_args(Says), _MEANT)] | None = Field(
        default=None, description="What a document or a photograph says of the date."
    )
    reliability: Annotated[
        float | None,
        BeforeValidator(_share),
        WithJsonSchema({"type": ["number", "string"], "minimum": 0, "maximum": 1}),
    ] = Field(default=None, description="How likely it is right, 0 to 1.")
    section: Name | None = Field(
        default=None, description="The section it speaks of; default: the board."
    )
    note: Text | None = Field(default=None, description="What it is and where it is kept.")

    def span(self) -> Bounds:
        """The first and last day of its date; None for an open end or no date."""
        days = self.days()
        return (days.first, days.last) if days else (None, None)

    def days(self) -> Days | None:
        """Its date with the qualifier kept, or None where it has no date."""
        return edtf_days(self.date) if self.date else None

    @model_validator(mode="after")
    def _complete(self) -> Self:
        """Each kind carries what it needs to be evidence."""
        if self.kind in ("document", "photograph"):
            if self.date is None:
                raise wrong(f"a {self.kind} needs a date", "add date: with the date it gives")
            if self.says is None:
                raise wrong(
                    f"a {self.kind} needs to say what its date means",
                    f"add says: with {one_of(get_args(Says))}",
                )
        elif self.date is None and self.marking is None:
            raise wrong(
                f"{article(self.kind)} needs a marking or a date",
                "add marking: with what is written there, or date: with its date",
            )
        elif self.says is not None and self.kind != "serial number":
            raise wrong(
                f"{article(self.kind)} cannot take 'says'",
                "take it out, or make the kind document",
                ("says",),
            )
        return self


class KnownWork(_Recorded):
    """A work that is known to have been done, the present owner's own included."""

    date: DateText = Field(description="When, in EDTF.")
    parts: References = Field(description="References or sections worked on.")
    done: Text = Field(description="What was done.")
    by: Text | None = Field(default=None, description="Who did it.")
    note: Text | None = Field(default=None, description="Anything else known of it.")

    def span(self) -> Bounds:
        """The first and last day of the work; None for an open end."""
        days = edtf_days(self.date)
        return days.first, days.last

    @model_validator(mode="after")
    def _some_parts(self) -> Self:
        if not self.parts:
            raise wrong("a known work names no parts", "list them: parts: [C7, C8]", ("parts",))
        return self


class SurveyedPart(NamedTuple):
    """A part with its section's defaults inherited."""

    ref: str
    section: str
    marking: str
    mount: Mount | None
    joints: Joints | None
    note: str | None
    adapter: bool = False


def _needs_sections(schema: dict[str, Any]) -> None:
    """A file without sections holds no markings; the models say so in words, the schema here."""
    schema["required"] = ["sections"]


class Survey(_Recorded):
    """What was recorded of one board."""

    model_config = ConfigDict(json_schema_extra=_needs_sections)

    board: Board = Field(default=Board(), description="What identifies the board.")
    production: DateText | None = Field(
        default=None, description="The years the model was made, in EDTF, such as 1977/1983."
    )
    trade: Annotated[Trade, _choice(get_args(Trade))] | None = Field(
        default=None,
        description="How such boards were made, where known: sets how long parts lay in stock.",
    )
    today: Annotated[
        date | None,
        BeforeValidator(_day),
        WithJsonSchema({"type": "string", "format": "date"}),
    ] = Field(default=None, description="The day of the survey; default: the current day.")
    notes: Text | None = Field(default=None, description="Anything else.")
    sections: Annotated[dict[Name, Section], BeforeValidator(_unique_names)] = Field(
        default={}, description="Functional areas of the board, with their parts."
    )
    relations: tuple[Relation, ...] = Field(
        default=(), description="How sections stand to each other: 'A fitted with B' and so on."
    )
    evidence: tuple[Evidence, ...] = Field(default=(), description="Codes, stamps and documents.")
    works: tuple[KnownWork, ...] = Field(default=(), description="Works known to have been done.")
    houses: tuple[HouseScheme, ...] = Field(
        default=(), description="Date schemes of one house, by pattern and years."
    )

    def parts(self) -> tuple[SurveyedPart, ...]:
        """Every part in file order, with its section's mount and joints where it has none."""
        return tuple(
            SurveyedPart(
                ref,
                name,
                part.marking,
                part.mount or section.mount,
                part.joints or section.joints,
                part.note,
                part.adapter,
            )
            for name, section in self.sections.items()
            for ref, part in section.parts.items()
        )

    def day(self) -> date:
        """The day of the survey: ``today`` as recorded, else the current day."""
        return self.today or date.today()

    def production_span(self) -> Bounds:
        """First and last day of production; None for an open end or no production years."""
        if self.production is None:
            return None, None
        days = edtf_days(self.production)
        return days.first, days.last

    def graph(self) -> "nx.MultiDiGraph[str]":
        """The constraint graph: board, sections, parts, evidence, and the relations between."""
        # An import upward: a survey hands out its graph, and only when asked.
        from provenance.graph import survey_graph  # noqa: PLC0415

        return survey_graph(self)

    def impossible_order(self) -> Disagreement | None:
        """The relations that cannot all hold, placed at the last of them, or None."""
        # Imports upward, as graph() does: only the graph knows, and only when asked.
        from provenance.graph import GraphError, fit_groups  # noqa: PLC0415

        try:
            fit_groups(self)
        except GraphError as error:
            return Disagreement(error.problem, error.fix, ("relations", max(error.relations)))
        return None

    @model_validator(mode="after")
    def _agrees(self) -> Self:
        if (found := first_disagreement(self)) is not None:
            raise wrong(found.problem, found.fix, found.at)
        return self


class Machine(_Recorded):
    """Several boards of one machine."""

    machine: Board = Field(default=Board(), description="What identifies the machine.")
    boards: tuple[Survey, ...] = Field(description="Its boards, each with its own survey.")

    @model_validator(mode="after")
    def _some_boards(self) -> Self:
        if not self.boards:
            raise wrong(
                "the machine has no boards", "list at least one survey under boards", ("boards",)
            )
        count = sum(len(section.parts) for b in self.boards for section in b.sections.values())
        if count > MOST_PARTS:
            raise wrong(
                f"the machine holds {count:,} parts; {MOST_PARTS:,} is the most",
                "make one file for each part of the machine",
                ("boards",),
            )
        return self
