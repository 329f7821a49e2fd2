"""What a study tells of prices: in the file's currency, in full, with the things that they buy."""

from __future__ import annotations

import io

import pytest
from rich.console import Console

import optimiser
from optimiser.problem.read import load
from optimiser.sheet.fronts import print_front
from optimiser.study.front import read_front
from tests.study.rooms import STORE

ONE_CHAIR = "chair: {width: 0.75 m, depth: 0.95 m, reclined: 1.65 m, eye_height: 1.1 m, eye_to_back: 0.2 m, head_above_eye: 0.12 m}"
TWO_CHAIRS = """chair:
    depth: 0.95 m
    reclined: 1.65 m
    eye_height: 1.1 m
    eye_to_back: 0.2 m
    head_above_eye: 0.12 m
    choose:
      - {name: Wren, width: 0.65 m, price: 3970}
      - {name: Heron, width: 0.75 m, price: 5090}"""
WIDE = "  - {measure: chair_width, at_least: 0.75 m, fade: 0.2 m}\n"


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    assert ONE_CHAIR in STORE
    folder = tmp_path_factory.mktemp("priced")
    (folder / "store.yaml").write_text(
        STORE.replace("show: mm\n", "show: mm\ncurrency: crowns\n").replace(ONE_CHAIR, TWO_CHAIRS) + WIDE,
        encoding="utf-8",
    )
    out = folder / "front.jsonl"
    return (
        folder,
        optimiser.front(folder / "store.yaml", ["score", "cost:lower"], points=4, workers=1, out=out),
        read_front(out, load(folder / "store.yaml")),
    )


def test_a_front_names_what_the_money_buys(found):
    """By hand: three chairs at 5090 are 15270, at 3970 they are 11910; nothing else has a price."""
    text = io.StringIO()
    print_front(Console(file=text, width=110), found[2])
    lines = text.getvalue().splitlines()
    assert [line.split()[2:4] for line in lines if "Heron" in line] == [["15270", "Heron"]]
    assert [line.split()[2:4] for line in lines if "Wren" in line] == [["11910", "Wren"]]
    assert "less than 0.001 in cost apart" not in " ".join(lines)


def test_things_with_long_names_leave_space_for_the_rest(found):
    text = io.StringIO()
    print_front(Console(file=text, width=24), found[2])
    assert "Heron" not in text.getvalue()
    assert "15270" in text.getvalue()


def test_pictures_of_a_front_have_money_in_full_and_in_its_currency(found):
    pytest.importorskip("matplotlib")
    folder, study, _ = found
    study.save(folder / "chart.svg")
    study.save(folder / "plans.svg", plans=True)
    assert "cost (less is better) [crowns]" in (folder / "chart.svg").read_text(encoding="utf-8")
    plans = (folder / "plans.svg").read_text(encoding="utf-8")
    assert "15270 crowns" in plans and "11910 crowns" in plans
