"""The inference: from a survey to a finding. ``date_board`` is the way in."""

import numpy as np

from provenance.inference.board import date_board
from provenance.inference.finding import Finding

__all__ = ["Finding", "date_board"]

_KEPT = (32 << 20) - (8 << 10)
"""Bytes. The usual C library gives memory back to the system when twice the largest block that was
freed lies idle, up to blocks of 32 MB, and is slow to get it again: with one such block freed, and
never written to, the memory of one board serves the next. Others are none the worse for it (manual
page of mallopt, M_MMAP_THRESHOLD)."""
np.empty(_KEPT, np.uint8)
