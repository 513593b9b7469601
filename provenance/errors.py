"""The errors that a user can mend. The command line turns each into one line and exit code 2."""

from __future__ import annotations


class ProvenanceError(Exception):
    """Something in the input is wrong; the message says what, where and the likely fix."""
