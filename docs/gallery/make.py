"""Make the gallery: the design sheet of every file in problems/, as HTML and PDF, and an index.

    python docs/gallery/make.py [FOLDER]

Writes beside this file, or into FOLDER. A test holds the gallery to what this makes.
"""

from __future__ import annotations

import sys
from pathlib import Path

from optimiser.problem.read import load
from optimiser.sheet.content import sheet
from optimiser.sheet.make import gather, write
from optimiser.sheet.paper import paper_for

HERE = Path(__file__).parent
PROBLEMS = HERE.parents[1] / "problems"
HEAD = """# Gallery

The design sheets of the files in [problems/](../../problems), as `optimiser sheet FILE --out FOLDER` makes them.
Made by `python docs/gallery/make.py`; make it again when a formula, a problem file or the sheet changes.

"""


def one(file: Path, folder: Path) -> str:
    """Make the sheet of a problem file; its line of the index."""
    problem = load(file)
    material = gather(problem, file.read_text(encoding="utf-8"), file.name)
    out = folder / file.stem
    out.mkdir(parents=True, exist_ok=True)
    paper = paper_for(problem.show)
    names = [path.name for path in write(material, out, ("html", "pdf"), (paper,)) if path.name.startswith("sheet")]
    for path in out.iterdir():
        if path.name not in names:
            path.unlink()  # drawings stand in the sheets already
    made = sheet(material, paper)
    links = ", ".join(f"[{name.rpartition('.')[2].upper()}]({file.stem}/{name})" for name in names)
    return f"- **{problem.title}** ({links}; [file](../../problems/{file.name})). {made.line} {made.proof}\n"


def main(folder: Path) -> None:
    """Make the whole gallery in a folder."""
    lines = [one(file, folder) for file in sorted(PROBLEMS.glob("*.yaml"))]
    (folder / "README.md").write_text(HEAD + "".join(lines), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE)
