"""Cold starts as ratios to bare imports: ``python -m tests.benchmarks.start_up [ROUNDS]``.

Runs each command and its yardstick in turn, so that whatever else the machine does falls on both,
and prints medians and their ratio. Prints, asserts nothing; the budgets are those of the design.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parent.parent.parent
ROUNDS = 21
_RUN = "from provenance.cli import main; main()"


class Start(NamedTuple):
    """A command, the imports it is measured against, and the ratio it may reach."""

    name: str
    arguments: tuple[str, ...]
    yardstick: str
    budget: float


STARTS = (
    Start("provenance read", ("read", "SN7432N 7841"), "import typer", 1.5),
    Start(
        "provenance date",
        ("date", str(ROOT / "fixtures" / "six-voice-synthesiser.yaml")),
        "import numpy, networkx, pydantic, typer, yaml",
        1.4,
    ),
)


def seconds(arguments: list[str], environment: dict[str, str]) -> float:
    """The wall time of one fresh interpreter. Raises CalledProcessError where it fails."""
    begun = time.perf_counter()
    subprocess.run(
        [sys.executable, *arguments],
        env=environment,
        cwd=ROOT,
        check=True,
        stdout=subprocess.DEVNULL,
    )
    return time.perf_counter() - begun


def main(rounds: int) -> None:
    """Print one line for each start."""
    with tempfile.TemporaryDirectory() as compiled:
        # Both sides run from byte code, as installed packages do.
        environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
        environment |= {"PYTHONPYCACHEPREFIX": compiled, "PYTHONPATH": str(ROOT)}
        for start in STARTS:
            command, yardstick = ["-c", _RUN, *start.arguments], ["-c", start.yardstick]
            seconds(command, environment), seconds(yardstick, environment)
            pairs = [
                (seconds(command, environment), seconds(yardstick, environment))
                for _ in range(rounds)
            ]
            ours, theirs = (statistics.median(column) for column in zip(*pairs, strict=True))
            print(
                f"{start.name}: {1000 * ours:.0f} ms against {1000 * theirs:.0f} ms for "
                f"`{start.yardstick}`: ratio {ours / theirs:.2f} (budget {start.budget}), "
                f"medians of {rounds}"
            )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else ROUNDS)
