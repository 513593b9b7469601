"""The errors that a user can mend. The command line turns each into one line and exit code 2."""

from __future__ import annotations


class ProvenanceError(Exception):
    """Something in the input is wrong; the message says what, where and the likely fix."""


def safe(text: str) -> str:
    """Text with every character that a terminal would act on written as an escape."""
    return "".join(
        char if char.isprintable() else char.encode("unicode_escape").decode("ascii")
        for char in text
    )


class SurveyError(ProvenanceError):
    """A survey file that cannot be used: what is wrong, where, and the likely fix.

    ``key`` is the place in words, such as ``sections > audio > parts > U3``. ``others`` holds what
    else is wrong with the same file, in file order.
    """

    def __init__(
        self,
        message: str,
        file: str | None = None,
        line: int | None = None,
        key: str | None = None,
        fix: str | None = None,
        *,
        others: tuple[SurveyError, ...] = (),
    ) -> None:
        super().__init__(message)
        self.message = message
        self.file = file
        self.line = line
        self.key = key
        self.fix = fix
        self.others = others

    def __str__(self) -> str:
        place = ":".join(str(part) for part in (self.file, self.line) if part is not None)
        said = ": ".join(part for part in (place, self.key, self.message) if part)
        stop = "" if said.endswith(("?", ".")) else "."
        # Whatever of the file is in it, it is one line and does nothing to a terminal.
        return safe(f"{said}{stop} Fix: {self.fix}" if self.fix else said)


class OutputError(ProvenanceError):
    """A file that was not written, and why."""
