"""The shape of the project: data flows one way, imports stay light, the top level stays bare."""

from __future__ import annotations

import ast
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "provenance"

LAYERS = (
    *("errors", "weeks", "markings", "survey", "graph", "inference", "census", "notes", "cli"),
    "__main__",
)
"""Each may import itself and what stands before it."""

UPWARD = {("survey/model.py", "graph"), ("inference/finding.py", "notes")}
"""The imports against the stream, each inside a method: ``Survey.graph()``,
``Survey.impossible_order()`` and how a finding shows itself."""

HEAVY = ("pydantic", "numpy", "networkx", "matplotlib", "rich", "jinja2", "yaml", "dateutil")

TOP = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml"}
TOP_FOLDERS = {"provenance", "tests", "fixtures", "docs"}


class Import(NamedTuple):
    """One import of a layer of the project: by which file, and whether at the top of it."""

    file: str
    layer: str
    at_top: bool


def layer(file: str) -> str:
    return file.split("/", maxsplit=1)[0].removesuffix(".py")


def imports(path: Path) -> Iterator[Import]:
    """Every import of a part of the project in a file, those for types alone included."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    file = path.relative_to(PACKAGE).as_posix()
    inner = {
        id(node)
        for function in ast.walk(tree)
        if isinstance(function, ast.FunctionDef | ast.AsyncFunctionDef)
        for node in ast.walk(function)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{file} imports by a relative name"
            names = [f"{node.module}.{alias.name}" for alias in node.names]
        else:
            continue
        for name in names:
            top, *rest = name.split(".")
            if top == "provenance" and rest != ["__version__"]:
                # A public name of the whole package stands above every layer but the command line.
                found = rest[0] if rest and rest[0] in LAYERS else "cli"
                yield Import(file, found, id(node) not in inner)


ALL = [found for path in sorted(PACKAGE.rglob("*.py")) for found in imports(path)]


def test_every_module_belongs_to_a_layer() -> None:
    files = {path.relative_to(PACKAGE).as_posix() for path in PACKAGE.rglob("*.py")}
    assert {layer(file) for file in files} - {"__init__"} == set(LAYERS)


def test_data_flows_one_way() -> None:
    against = {
        found
        for found in ALL
        if found.file != "__init__.py"
        and LAYERS.index(found.layer) > LAYERS.index(layer(found.file))
        and ((found.file, found.layer) not in UPWARD or found.at_top)
    }
    assert against == set()


def test_the_project_does_import_along_the_stream() -> None:
    """Guards the check above against finding no imports at all."""
    pairs = {(layer(found.file), found.layer) for found in ALL}
    assert {("survey", "errors"), ("graph", "survey"), ("markings", "weeks")} <= pairs


def loaded(code: str) -> set[str]:
    """The heavy packages that some code loads in a fresh interpreter."""
    done = subprocess.run(
        [sys.executable, "-c", f"{code}\nimport sys; print('\\n' + ' '.join(sys.modules))"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    return set(HEAVY) & set(done.stdout.splitlines()[-1].split())


@pytest.mark.parametrize(
    "code",
    [
        "import provenance",
        "import provenance; provenance.read_marking('SN7432N 7841')",
        "import provenance; provenance.template_text(), provenance.write_whole",
        "import provenance.cli",
        "from provenance.cli import run; run(['read', 'SN7432N 7841', '--near', '1978'])",
        "from provenance.cli import run; run(['read', 'SN7432N 7841', '--json'])",
        "from provenance.cli import run; run(['schemes'])",
    ],
)
def test_what_must_stay_light_loads_nothing_heavy(code: str) -> None:
    assert loaded(code) == set()


def test_the_check_of_lightness_sees_what_is_heavy() -> None:
    assert "pydantic" in loaded("import provenance; provenance.Survey")


def test_every_file_of_the_package_is_in_what_is_installed() -> None:
    """Modules are by themselves; tables and templates by the patterns of pyproject.toml."""
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    patterns = settings["tool"]["setuptools"]["package-data"]["provenance"]
    installed = {path for pattern in patterns for path in PACKAGE.glob(pattern)}
    others = {path for path in PACKAGE.rglob("*") if path.is_file() and ".py" not in path.suffix}
    assert PACKAGE / "py.typed" in others
    assert others == installed
    folders = {path.parent for path in PACKAGE.rglob("*.py")}
    assert {folder for folder in folders if not (folder / "__init__.py").exists()} == set()


def test_the_top_of_the_project_holds_only_what_belongs_there() -> None:
    if not (ROOT / ".git").exists() or shutil.which("git") is None:
        pytest.skip("not a git checkout")
    listed = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.split("\0")
    files = {name for name in listed if name and "/" not in name and not name.startswith(".")}
    folders = {name.split("/")[0] for name in listed if "/" in name and not name.startswith(".")}
    assert files <= TOP
    assert folders <= TOP_FOLDERS
    assert "README.md" in files
