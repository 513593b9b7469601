"""The docs cannot fall behind: commands, public names, examples, links, set-up."""

from __future__ import annotations

import ast
import doctest
import inspect
import re
from pathlib import Path

import pytest

import provenance
from tests.generated_docs import COMMANDS, PAGES, ROOT, TWINS, commands, commands_page
from tests.generated_docs import with_examples_run as renewed

README = (ROOT / "README.md").read_text(encoding="utf-8")
PYTHON = (ROOT / "docs" / "python.md").read_text(encoding="utf-8")
STALE = "run `python -m tests.generated_docs` and look at the difference"


def named(page: Path) -> str:
    return str(page.relative_to(ROOT))


@pytest.mark.parametrize("name", list(commands()))
def test_every_command_has_help_for_itself_and_each_parameter(name: str) -> None:
    command = commands()[name]
    assert command.help
    assert [p.name for p in command.params if not getattr(p, "help", None)] == []


@pytest.mark.parametrize("name", list(commands()))
def test_every_command_is_in_the_docs_with_its_twin_in_python(name: str) -> None:
    page = COMMANDS.read_text(encoding="utf-8")
    assert f"\n## provenance {name}\n" in page
    called = re.findall(r"\b([a-z_]+)\(", TWINS[name])
    assert called
    assert [twin for twin in called if twin not in provenance.__all__] == []


def test_the_page_of_commands_is_current() -> None:
    assert COMMANDS.read_text(encoding="utf-8") == commands_page(), STALE


@pytest.mark.parametrize("name", provenance.__all__)
def test_every_public_name_is_in_the_docs_and_says_what_it_is(name: str) -> None:
    assert re.search(rf"`{re.escape(name)}\b", PYTHON), f"docs/python.md does not name {name}"
    assert name == "__version__" or getattr(provenance, name).__doc__


CALLS = re.findall(r"^\| `(\w+)(\(.*?\))` \|", PYTHON, re.MULTILINE)


@pytest.mark.parametrize(("name", "written"), CALLS, ids=[name for name, _ in CALLS])
def test_a_call_in_the_docs_has_the_parameters_of_the_function(name: str, written: str) -> None:
    (stated,) = ast.parse(f"def {name}{written}: ...").body
    assert isinstance(stated, ast.FunctionDef)
    real = inspect.signature(getattr(provenance, name)).parameters.values()
    asked = [(p.arg, False) for p in stated.args.args]
    asked += [(p.arg, True) for p in stated.args.kwonlyargs]
    assert asked == [(p.name, p.kind is p.KEYWORD_ONLY) for p in real]


def test_a_type_checker_sees_each_public_name_where_it_is_loaded_from() -> None:
    source = (ROOT / "provenance" / "__init__.py").read_text(encoding="utf-8")
    seen = {
        name.asname: node.module
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.ImportFrom)
        for name in node.names
        if name.asname
    }
    loaded = {name: f"provenance.{home}" for name, home in provenance._HOMES.items()}
    assert seen == loaded


def test_the_package_lists_its_public_names_alone() -> None:
    assert sorted(dir(provenance)) == sorted(provenance.__all__)


@pytest.mark.parametrize("page", [p for p in PAGES if "```console" in p.read_text()], ids=named)
def test_the_output_of_examples_is_current(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    assert renewed(text) == text, STALE


def test_the_readme_and_the_page_on_python_hold_examples() -> None:
    assert "```console\n$ provenance date " in README
    assert ">>> " in PYTHON


@pytest.mark.parametrize("page", [p for p in PAGES if ">>> " in p.read_text()], ids=named)
def test_examples_in_python_give_what_they_show(
    page: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "fixtures").symlink_to(ROOT / "fixtures")
    monkeypatch.chdir(tmp_path)
    blocks = re.findall(r"^```python\n(.*?)^```$", page.read_text(), re.MULTILINE | re.DOTALL)
    source = "\n".join(block for block in blocks if ">>> " in block)
    example = doctest.DocTestParser().get_doctest(source, {}, page.name, str(page), 0)
    runner = doctest.DocTestRunner(verbose=False)
    said: list[str] = []
    runner.run(example, out=said.append)
    assert runner.failures == 0, "".join(said)
    assert runner.tries > 0


@pytest.mark.parametrize("page", PAGES, ids=named)
def test_links_within_the_project_lead_somewhere(page: Path) -> None:
    text = re.sub(r"^```.*?^```$", "", page.read_text(), flags=re.MULTILINE | re.DOTALL)
    targets = re.findall(r"\]\(([^)#\s]+)(?:#[^)]*)?\)", text)
    local = [target for target in targets if not re.match(r"[a-z]+:", target)]
    assert [target for target in local if not (page.parent / target).exists()] == []


@pytest.mark.parametrize("page", PAGES, ids=named)
def test_modules_that_a_page_says_to_run_are_there(page: Path) -> None:
    asked = re.findall(r"python -m (tests[\w.]*)", page.read_text())
    places = [ROOT / module.replace(".", "/") for module in asked]
    assert [p for p in places if not p.with_suffix(".py").exists() and not p.is_dir()] == []


def test_every_page_of_the_docs_is_linked_from_the_index() -> None:
    index = (ROOT / "docs" / "README.md").read_text(encoding="utf-8")
    linked = set(re.findall(r"\]\(([^)#\s]+)", index))
    pages = {p.name for p in (ROOT / "docs").glob("*") if p.is_file()} - {"README.md"}
    folders = {f"{p.parent.name}/README.md" for p in (ROOT / "docs").glob("*/README.md")}
    assert sorted((pages | folders) - linked) == []


def test_the_readme_states_the_job_first_in_one_paragraph() -> None:
    title, job, *_ = README.split("\n\n")
    assert title.startswith("# ")
    assert not job.startswith(("#", "`", "-", "|"))
    assert len(job) > 200


def test_the_set_up_section_has_exactly_two_fenced_commands() -> None:
    section = re.search(r"^## Set-up\n(.*?)^## ", README, re.MULTILINE | re.DOTALL)
    assert section
    blocks = re.findall(r"^```(\w+)\n(.*?)^```$", section[1], re.MULTILINE | re.DOTALL)
    assert [language for language, _ in blocks] == ["bash", "bash"]
    assert "provenance date fixtures/six-voice-synthesiser.yaml" in blocks[0][1]
    assert "-m pytest" in blocks[1][1]
