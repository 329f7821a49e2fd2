"""The package's order: imports point one way, and heavy libraries wait until they are needed."""

from __future__ import annotations

import ast
import graphlib
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "optimiser"

ORDER = (
    "errors",
    "quantity",
    "physics",
    "linear",
    "forms",
    "measures",
    "problem",
    "design",
    "requirements",
    "score",
    "compile",
    "engine",
    "search",
    "solve",
    "record",
    "explain",
    "study",
    "sheet",
    "commands",
    "cli",
)
"""The way of the data, from a file's text to a sheet. A part imports only parts before it; parts that
are not named here stand wherever they close no circle."""

SOLVER = ("compile", "engine")
"""Parts that may call the solver."""

HEAVY = {
    "numpy",
    "scipy",
    "ortools",
    "pydantic",
    "yaml",
    "rich",
    "jinja2",
    "typst",
    "ezdxf",
    "distributed",
    "matplotlib",
}


def _name(path: Path) -> str:
    parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULES = {_name(path): path for path in sorted(PACKAGE.rglob("*.py"))}


def _imports(path: Path, *, lazy: bool = True) -> Iterator[str]:
    """What a module imports, in functions too unless not ``lazy``; nothing that only type checkers read."""

    def walk(nodes) -> Iterator[ast.AST]:
        for node in nodes:
            if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
                continue
            yield node
            if lazy or not isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
                yield from walk(ast.iter_child_nodes(node))

    for node in walk(ast.parse(path.read_text(encoding="utf-8")).body):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: imports are written in full"
            for alias in node.names:
                inner = f"{node.module}.{alias.name}"
                yield inner if inner in MODULES else node.module


def _part(module: str) -> str:
    return module.split(".")[1] if "." in module else ""


def test_every_part_of_the_order_is_there():
    assert {_part(m) for m in MODULES} >= set(ORDER)


@pytest.mark.parametrize("module", MODULES)
def test_imports_point_one_way(module):
    here = _part(module)
    if here not in ORDER:
        return
    for other in _imports(MODULES[module]):
        part = _part(other) if other.startswith("optimiser.") else here
        if part in ORDER:
            assert ORDER.index(part) <= ORDER.index(here), f"{module} imports {other}"


def test_no_modules_import_each_other_in_a_circle():
    graph = {
        module: {other for other in _imports(path) if other in MODULES and other != module}
        for module, path in MODULES.items()
    }
    graphlib.TopologicalSorter(graph).prepare()


@pytest.mark.parametrize("module", MODULES)
def test_only_the_solving_parts_know_the_solver(module):
    if _part(module) not in SOLVER:
        assert not [other for other in _imports(MODULES[module]) if other.split(".")[0] == "ortools"]


@pytest.mark.parametrize("module", [m for m in MODULES if _part(m) in SOLVER])
def test_the_solver_is_loaded_when_it_is_needed(module):
    assert not [other for other in _imports(MODULES[module], lazy=False) if other.split(".")[0] == "ortools"]


@pytest.mark.parametrize("words", [["--help"], ["--version"], ["solve", "--help"], ["measures", "--help"]])
def test_help_loads_nothing_heavy(words):
    code = (
        "import sys; from optimiser.cli import main; sys.argv = ['optimiser', *sys.argv[1:]]\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "print('loaded:', *sorted({name.split('.')[0] for name in sys.modules}))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, *words], capture_output=True, text=True, check=True, cwd=PACKAGE.parent
    )
    loaded = set(done.stdout.rsplit("loaded:", 1)[1].split())
    assert "optimiser" in loaded and not loaded & HEAVY


@pytest.mark.parametrize("module", MODULES)
def test_public_things_say_what_they_are(module):
    tree = ast.parse(MODULES[module].read_text(encoding="utf-8"))
    things = [
        node
        for node in tree.body
        if isinstance(node, (ast.FunctionDef, ast.ClassDef)) and not node.name.startswith("_")
    ]
    assert ast.get_docstring(tree) is not None
    assert not [node.name for node in things if ast.get_docstring(node) is None]
