"""The inference: from a survey to a finding. ``date_board`` is the way in."""

from provenance.inference.board import date_board
from provenance.inference.finding import Finding

__all__ = ["Finding", "date_board"]
