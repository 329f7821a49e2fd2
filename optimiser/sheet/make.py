"""From a solution to the files of its design sheet."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import nullcontext
from functools import partial
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from optimiser.engine import load_solver
from optimiser.errors import ImpossibleProblem, Undecided, UsageError, of_each, writing
from optimiser.problem.model import Problem
from optimiser.progress import Progress, silent
from optimiser.sheet.drawings import apart, drawings
from optimiser.sheet.material import Material
from optimiser.sheet.paper import PAPERS, Paper
from optimiser.sheet.plates import Plate, plate
from optimiser.sheet.restored import made_words, restored
from optimiser.solve import solve
from optimiser.work import Beside, cores

if TYPE_CHECKING:
    from optimiser.complete import Completed
    from optimiser.study.front import Front

Made = TypeVar("Made")

KINDS = ("html", "pdf", "svg", "dxf")
AT_ONCE = 2
"""Files made side by side: while one is typeset, another is drawn."""

DRAWN = frozenset({"svg", "dxf"})
"""Kinds of file that hold drawings only."""

NEEDS = {"pdf": ("typst", "pdf"), "dxf": ("ezdxf", "cad")}
"""Kinds of file that need a library beyond the core: its name, and our extra that brings it."""


def missing(kind: str) -> str | None:
    """Why a kind of file cannot be written here, or None."""
    library, extra = NEEDS.get(kind, ("", ""))
    if not library or find_spec(library) is not None:
        return None
    return f"{kind.upper()} needs the extra '{extra}': pip install 'screening-room-optimiser[{extra}]'"


def read_traded(path: Path, problem: Problem, text: str) -> Front:
    """A front that was kept in a file. UsageError where it is of another problem file."""
    from optimiser.study.front import read_front

    found = read_front(path, problem)
    if found.header.get("problem") != text:
        raise UsageError(f"{path} is a front of another problem file, or of this one before it was changed")
    return found


def gather(
    problem: Problem,
    text: str,
    name: str,
    *,
    saved: Mapping[str, Any] | None = None,
    prices: bool = True,
    freedom: bool = False,
    front: Front | None = None,
    kinds: Iterable[str] = KINDS,
    progress: Progress = silent,
) -> Material:
    """Solve a problem, or take a saved result in its place; ask why it is so (without ``prices``, only
    of an impossible problem; with ``freedom``, also how far it may move), and complete the file's own designs.
    ``front``: a front of the same problem, to be shown beside. Where all ``kinds`` to be made are drawings,
    nothing more is asked than the solution. UsageError where a saved result does not belong to the problem, or is of no
    best design and its freedom is asked for."""
    pushed = saved is not None and not {"extreme", "robust"}.isdisjoint(saved)
    if pushed and freedom:
        raise UsageError(
            "--freedom tells how far a best design may move: leave it out with a result of --maximise, --minimise or --robust"
        )
    drawn = DRAWN.issuperset(kinds)
    if not drawn:
        from optimiser.complete import refuse_senseless

        _of_designs(problem, refuse_senseless)  # before what may take minutes
    progress("the best design")
    with _completed_beside(problem) if problem.designs and not drawn else nullcontext() as completed:
        solution = solve(problem) if saved is None else restored(problem, saved)
        made = None if saved is None else made_words(problem, saved, name)
        if drawn:
            return Material(solution, text, name)
        from optimiser.sheet.asked import begun_beside, denied, freed, prepared, priced
        from optimiser.sheet.material import Reasons

        if solution.design is None:
            return Material(solution, text, name, reasons=denied(solution, progress))
        with begun_beside(solution) if freedom else nullcontext() as begun:
            # what binds a design that was pushed is not what a step of the file would gain
            moves = prepared(solution) if prices and not pushed else ()
            # of a design that cannot be it is told before more is asked about the best one
            designs = () if completed is None else completed.value()
            found = priced(solution, moves, progress)
            reasons = Reasons(prices=found, freedom=None if begun is None else freed(solution, begun, progress))
    return Material(solution, text, name, designs, reasons, front, made=made)


def _completed_beside(problem: Problem) -> Beside:
    """The file's own designs, completed in a process beside this one while that looks for the best design."""
    load_solver()  # there for both
    return Beside(_completed, problem)


def _completed(problem: Problem) -> tuple[tuple[str, Completed], ...]:
    """The file's own designs, with what they leave open at its best."""
    from optimiser.complete import complete

    return _of_designs(problem, complete)


def _of_designs(
    problem: Problem, function: Callable[[Problem, dict[str, float]], Made]
) -> tuple[tuple[str, Made], ...]:
    """The names of the file's own designs, and what a function makes of each. UsageError with all that is wrong with
    any of them, a line each."""

    def made(of: tuple) -> tuple[str, Made]:
        label, given = of
        try:
            return label, function(problem, dict(given))
        except (ImpossibleProblem, Undecided, UsageError) as error:
            raise UsageError(f"designs: {label}: {error}") from None

    return tuple(of_each(made, problem.designs))


DRAWINGS = [f"{name}.{kind}" for name in ("plan", "section", "elevation") for kind in ("svg", "pdf")]
MADE = frozenset(
    [*DRAWINGS, *(f"room-{name}" for name in DRAWINGS), "drawings.dxf", "room.dxf", "sheet.html"]
    + [f"sheet-{paper}.pdf" for paper in PAPERS]
)
"""Names of all files that sheets consist of."""


def left_over(folder: Path, written: Iterable[Path]) -> list[str]:
    """Names of a sheet's files in a folder that an earlier run wrote, and this one did not."""
    return sorted((MADE & {path.name for path in folder.iterdir()}) - {path.name for path in written})


def write(material: Material, folder: Path, kinds: Iterable[str], papers: Iterable[Paper]) -> list[Path]:
    """Write the files of a sheet into a folder; the paths written."""
    written: list[Path] = []
    with ThreadPoolExecutor(min(AT_ONCE, cores())) as threads:
        files = _files(material, tuple(papers), frozenset(kinds))
        made = {name: threads.submit(make) for name, make in files.items()}
        try:
            for name, data in made.items():
                path = folder / name
                found = data.result()
                with writing(path):
                    path.write_bytes(found)
                written.append(path)
        finally:
            for data in made.values():
                data.cancel()
    return written


def _files(material: Material, papers: tuple[Paper, ...], kinds: frozenset[str]) -> dict[str, Callable[[], bytes]]:
    """The names of a sheet's files, and for each what makes it, whatever is made beside it."""
    files: dict[str, Callable[[], bytes]] = {}
    plain = material
    if kinds - DRAWN:
        from optimiser.sheet.legible import legible

        plain = legible(material)  # the material itself, unless some letter cannot be printed
        files |= _sheet_files(material, plain, kinds, papers)
    plates = _plates(material, papers[0]) if kinds & {"svg", "pdf"} else []
    if "svg" in kinds:
        files |= {f"{one.name}.svg": partial(one.svg.encode, "utf-8") for one in plates}
    if "pdf" in kinds:
        from optimiser.sheet.pdf import plate_pdf

        printed = plates if plain is material else _plates(plain, papers[0])
        files |= {f"{one.name}.pdf": partial(plate_pdf, one) for one in printed}
    if "dxf" in kinds:
        from optimiser.sheet.dxf import dxf

        problem = material.problem
        name = "room.dxf" if material.solution.design is None else "drawings.dxf"
        files[name] = partial(dxf, drawings(material, papers[0]), problem.show, problem.title)
    return files


def _sheet_files(
    material: Material, plain: Material, kinds: frozenset[str], papers: tuple[Paper, ...]
) -> dict[str, Callable[[], bytes]]:
    """The sheet itself, for the screen and, of material in ``plain`` letters, for each size of paper."""
    from optimiser.sheet.content import sheet
    from optimiser.sheet.html import html
    from optimiser.sheet.pdf import sheet_pdf

    files: dict[str, Callable[[], bytes]] = {}
    whole = sheet(material, papers[0]) if "html" in kinds or plain is material else None
    if "html" in kinds and whole is not None:
        files["sheet.html"] = lambda: html(whole).encode("utf-8")
    if "pdf" in kinds:
        for paper in papers:
            made = whole if whole is not None and plain is material and paper == papers[0] else sheet(plain, paper)
            files[f"sheet-{paper.name.lower()}.pdf"] = partial(sheet_pdf, made, paper)
    return files


def _plates(material: Material, paper: Paper) -> list[Plate]:
    """Each drawing by itself."""
    problem = material.problem
    scenes = apart(material, paper)
    return [plate(one.name, [one], f"{problem.title}: {one.title}", system=problem.show) for one in scenes]
