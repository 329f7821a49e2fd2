"""The documents say what is so: commands print what is shown, links lead somewhere, nothing is missing.

Where a command's answer has changed, ``python -m tests.refresh_documents`` writes the new one; read
the difference before committing it, for the words around it may no longer be true.
"""

from __future__ import annotations

import json
import re
import shlex
from pathlib import Path

import click
import pytest
from click.testing import CliRunner
from pydantic import BaseModel

from optimiser.cli import program
from optimiser.errors import QuantityError
from optimiser.measures import catalogue
from optimiser.problem import written
from optimiser.problem.decisions import names
from optimiser.problem.read import load, loads
from optimiser.quantity import KINDS, parse
from tests.refresh_documents import ROOT, answer, blocks, documents, settled

LINK = re.compile(r"!?\[[^\]]*\]\(([^)\s]+)\)")
PROBLEMS = sorted((ROOT / "problems").glob("*.yaml"))


def _lines(path: Path) -> list[str]:
    return path.read_text(encoding="utf-8").split("\n")


def _name(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


ALL = [(path, block) for path in documents() for block in blocks(_lines(path))]
SHOWN = [pytest.param(p, b, id=f"{_name(p)}:{b.first}") for p, b in ALL if b.kind in ("console", "prints", "keys")]
CODE = [pytest.param(b, id=f"{_name(p)}:{b.first}") for p, b in ALL if b.kind == "python"]


@pytest.mark.parametrize(("path", "block"), SHOWN)
def test_what_is_shown_is_what_is_printed(path, block):
    assert settled(block.text) == settled(answer(block) or ""), f"python -m tests.refresh_documents {_name(path)}"


def _calls(path: Path) -> list[str]:
    """Commands of the program in the running text, as ``optimiser solve FILE --json``."""
    prose = re.sub(r"^```.*?^```", "", path.read_text(encoding="utf-8"), flags=re.DOTALL | re.MULTILINE)
    return [call.replace("\n", " ") for call in re.findall(r"`optimiser ([^`]+)`", prose)]


@pytest.mark.parametrize("path", documents(), ids=_name)
def test_commands_and_options_named_in_the_text_exist(path):
    for call in _calls(path):
        name, *words = shlex.split(call)
        if name.startswith("-"):
            words, known = [name], ["--help", "--version"]
        else:
            command = program.get_command(click.Context(program), name)
            assert command is not None, call
            known = [option for parameter in command.params for option in parameter.opts] + ["--help"]
        assert [word for word in words if word.startswith("--") and word not in known] == [], call


@pytest.mark.parametrize("block", CODE)
def test_python_examples_compile(block):
    compile(block.text, "example", "exec")


def test_commands_are_shown():
    """The tests above are made from the documents: they must find something there."""
    shown = {_name(p) for p, b in ALL if b.kind in ("console", "prints")}
    assert {"README.md", "docs/answers.md", "docs/method.md"} <= shown


# --- the README ---------------------------------------------------------------------------------


def _commands_of_readme() -> list[str]:
    return [b.text for p, b in ALL if p.name == "README.md" and b.kind == "sh"]


def test_readme_shows_what_its_first_command_prints():
    first = _commands_of_readme()[0]
    prints = [b.about for p, b in ALL if p.name == "README.md" and b.kind == "prints"]
    assert "\n" not in first and first.endswith(f"/bin/{prints[0]}")


def test_readme_marks_its_test_command():
    """What .ci/run takes from the README: one line, which ends in the tests."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    marked = re.findall(r"<!-- test command -->\n+```sh\n(.*?)\n```\n", text, flags=re.DOTALL)
    assert len(marked) == 1 and "\n" not in marked[0]
    assert marked[0] == _commands_of_readme()[1]
    assert "-m pytest" in marked[0].split("&&")[-1]


# --- the problem file ---------------------------------------------------------------------------


def _parts() -> list[type[BaseModel]]:
    return [
        one
        for one in vars(written).values()
        if isinstance(one, type) and issubclass(one, written.Part) and not one.__name__.endswith(("Part", "Keys"))
    ]


def test_every_part_of_the_problem_file_is_described():
    described = {b.about for p, b in ALL if p.name == "problem-file.md" and b.kind == "keys"}
    assert described == {part.__name__ for part in _parts()}


def test_the_example_in_the_description_is_a_problem_file():
    """The yaml blocks of the description, put together, are one whole file."""
    texts = [b.text for p, b in ALL if p.name == "problem-file.md" and b.kind == "yaml"]
    problem = loads("\n".join(texts), "docs/problem-file.md")
    assert problem.goals and problem.limits and problem.designs


def test_the_description_names_every_decision():
    (told,) = [
        line for line in _lines(ROOT / "docs" / "problem-file.md") if line.startswith("Every decision has a name")
    ]
    named = set(re.findall(r"`([a-z0-9_.]+)`", told)) - {"designs"}
    assert named == set(names(rows=1))


def test_the_description_says_which_quantities_may_stand_without_a_unit():
    """Each example in the table with and without its unit; what is said to stand bare does, and nothing else."""
    lines = _lines(ROOT / "docs" / "problem-file.md")
    (told,) = [line for line in lines if line.startswith("Wherever a kind has a unit")]
    may = {"ratio", "flux"}
    assert "a ratio (`0.65` is `65 %`), and a luminous flux" in told
    none = {"aspect", "number", "count", "money"}
    assert "no unit always do: aspect ratios, numbers, counts and money" in told
    for name, kind in KINDS.items():
        example = kind.example.split()[0] if name not in none else kind.example
        if name in may | none:
            assert parse(name, example) == parse(name, kind.example)
        else:
            with pytest.raises(QuantityError, match="has no unit"):
                parse(name, example)


# --- nothing missing, nothing astray ------------------------------------------------------------


@pytest.mark.parametrize("measure", catalogue().values(), ids=lambda m: m.name)
def test_every_measure_has_its_line(measure):
    """A line in docs/measures/ that begins with the measure's name."""
    files = sorted((ROOT / "docs" / "measures").glob("*.md"))
    beginning = re.compile(rf"^[-#*|\s]*`?{measure.name}`?\b", flags=re.MULTILINE)
    assert any(beginning.search(path.read_text(encoding="utf-8")) for path in files), f"describe {measure.name}"


@pytest.mark.parametrize("path", PROBLEMS, ids=lambda p: p.stem)
def test_every_problem_tells_its_story_and_its_answer_is_discussed(path):
    text = path.read_text(encoding="utf-8")
    assert len(re.match(r"(#[^\n]*\n)*", text)[0].split()) >= 40  # type: ignore[index]
    assert load(path).title in (ROOT / "docs" / "answers.md").read_text(encoding="utf-8")
    assert path.name in (ROOT / "docs" / "answers.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("path", documents(), ids=_name)
def test_links_lead_somewhere(path):
    text = re.sub(r"^```.*?^```", "", path.read_text(encoding="utf-8"), flags=re.DOTALL | re.MULTILINE)
    for target in LINK.findall(text):
        assert "://" not in target, f"{target}: name the source, links age"
        file, _, anchor = target.partition("#")
        to = (path.parent / file).resolve() if file else path
        assert to.exists(), target
        if anchor:
            assert anchor in _anchors(to), target


def _anchors(path: Path) -> set[str]:
    headings = re.findall(r"^#+ (.+)$", path.read_text(encoding="utf-8"), flags=re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-") for heading in headings}


def test_every_document_can_be_found_from_the_map():
    """docs/index.md leads to each document below docs/."""
    index = ROOT / "docs" / "index.md"
    linked = {(index.parent / t.partition("#")[0]).resolve() for t in LINK.findall(index.read_text(encoding="utf-8"))}
    missing = [
        _name(p) for p in documents() if p.is_relative_to(index.parent) and p != index and p.resolve() not in linked
    ]
    assert not missing


# --- records ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "more"),
    [
        ("solve problems/box-room.yaml", set()),
        ("solve problems/box-room.yaml --maximise image_width --fix rows=1", {"extreme", "fixed"}),
        ("solve problems/attic-too-much.yaml", {"conflict"}),
        ("score problems/screen-stays.yaml --targets all", {"targets", "name", "given", "holds", "unkept"}),
    ],
)
def test_the_record_has_the_keys_that_are_described(words, more, monkeypatch):
    monkeypatch.chdir(ROOT)
    told = {m[1] for line in _lines(ROOT / "docs" / "record.md") if (m := re.match(r"\| `(\w+)` \|", line))}
    found = json.loads(CliRunner().invoke(program, [*words.split(), "--json"]).stdout)
    keys = {key for one in (found if isinstance(found, list) else [found]) for key in one}
    assert more <= keys <= told
    assert {"format", "program", "title", "status"} <= keys
