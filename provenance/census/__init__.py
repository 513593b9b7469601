"""Many boards taken together: the boards of one machine."""

from provenance.census.machine import MachineFinding, date_machine

__all__ = ["MachineFinding", "date_machine"]
