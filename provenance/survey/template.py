"""The survey that a new user starts from: commented, invented, and itself valid."""

from __future__ import annotations

_TEMPLATE = """\
# A survey of one board. Replace the invented example below with your own board.
# Lines that begin with # are comments. What you do not know, leave out.
#
# Before you look: power off and unplugged, capacitors discharged, static in mind. Leave mains and
# picture-tube sections to qualified people. Leaking batteries and lead solder: gloves, wash hands.
# Local rules come first.

board:
  title: Six-channel patch mixer, control board
  maker: as printed on the case
  model: PM-6
  revision: C
  serial: "00417"

# The day on which you look. With it the same file gives the same answer next year.
# today: 2026-05-01

# The years in which the model was made, if known: first/last.
production: 1979/1984

# How such boards were made, if known:
# mass production, small series, one-off or workshop.
trade: small series

# A section is an area of the board that was probably filled in one go. Its mount (soldered or
# socketed) and joints (factory, hand or unclear) hold for all its parts.
sections:
  channel strip:
    mount: soldered
    joints: factory
    parts:
      # Reference: marking, in quotes, as it stands on the part. Write ? for a character that
      # cannot be read, and / with a blank on each side where a new line begins.
      U1: "LF353N / 8021"
      U2: "LF353N / 80?1"
      U3: "TL074CN / 8019"
  logic:
    mount: soldered
    joints: factory
    parts:
      U10: "SN74LS138N 8017"
      # A part that differs from its section, or of which there is more to say, in full:
      U11:
        marking: "SN74LS374N 8214"
        mount: socketed
        joints: hand
        note: flux residue around the socket
  memory option:
    mount: socketed
    parts:
      U20: "HM6116P-3 / 8236"
      U21: "HM6116P-3 / 8236"

# What you know of the order, as sentences about two sections:
# A fitted with B, A fitted after B, A mounted on B.
relations:
  - memory option fitted after logic

# What speaks of the date besides the parts. Dates: 1980, 1980-06, 1980-06-12, 1979/1981, 1980~.
# kind: bare board code, inspection stamp, document, photograph or serial number.
# A document or photograph says: in use by, not before, built on or built between.
evidence:
  - kind: bare board code
    marking: "8012"
  - kind: document
    says: in use by
    date: 1981-03-02
    note: delivery note kept with the mixer

# Works that are known, your own included. Parts that are not surveyed may be named too.
works:
  - date: 2024-05
    parts: [C7, C8]
    done: electrolytic capacitors replaced
    by: the present owner
"""


def template_text() -> str:
    """A commented survey in YAML, itself valid, that teaches the format by example."""
    return _TEMPLATE
