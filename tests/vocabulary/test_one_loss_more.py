"""One loss more is one row and one line of the room: a copy of growsim that has just these tells of it everywhere."""

from __future__ import annotations

import csv
import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from growsim.vocabulary.losses import PLANT_LOSSES

ROOT = Path(__file__).parents[2]
ROW = """
STAR_BLIGHT: Final = Loss(
    key="star_blight",
    label="spoiled by star blight",
    color="#7a3e00",
    hatch="oo",
    of="plants",
    clause="are spoiled by star blight",
    limit="machines",
    helps="a breeze over the leaves",
    record_words=("star blight", "brown tips"),
)

"""
LOST = {"star_blight", *(loss.key for loss in PLANT_LOSSES)} - {"transplanting"}
DIES = "part.lose(room.clock.now, luck.binomial(part.plants, stage.handling_loss), TRANSPLANTING)"
BURNS = "part.lose(room.clock.now, part.plants // 2, STAR_BLIGHT)"
RECORD = "sown,crop,cells,emerged,harvested,lost,why\n2031-01-06,small head,60,55,2031-02-10,5,5 brown tips\n"

# What the copy is asked; whatever it prints beside the last line is for the reader of a failure.
ASKED = """
import json, sys
from pathlib import Path
import made_up
from growsim.cli import main
from growsim.report.compare.why import BEHIND
from growsim.report.provenance import Provenance
from growsim.report.record_templates import write_templates
from growsim.report.rehearse.answer import write_rehearsal
from growsim.report.rehearse.day_by_day import read_day, read_room
from growsim.ledger.aftermath import BY_OUTAGE
from growsim.web.days.words import day_in_words

out, room = Path.cwd(), sys.argv[1]
made_up.LOSSES = {"star_blight": 0.5, "dried_out": 0.01}
write_rehearsal(made_up.rehearsal(replications=3), out / "made up", provenance=Provenance("rehearse", "", "ab" * 32))
(out / "record").mkdir()
(out / "record" / "plantings.csv").write_text(sys.argv[2])
year = ["--days", "91", "--seed", "7"]
years = [*year, "--replications", "2", "--workers", "1"]
assert main(["rehearse", room, *years, "--out", "rehearsed"]) == 0
assert main(["rehearse", room, *year, "--replication", "0", "--trace", "--out", "one"]) == 0
kept = ["--records", "record", "--from", "2031-01-06", "--until", "2031-04-06"]
assert main(["funder", room, *kept, *years[2:], "--out", "funder"]) == 0
(out / "templates").mkdir()
write_templates(out / "templates")
days = out / "one" / "days.jsonl"
here = read_room(days)
greens = [said for day in range(here["days"]) for said in day_in_words(here, read_day(days, day)).greens]
words = {"greens": greens, "behind": BEHIND, "by outage": BY_OUTAGE}
Path("words.json").write_text(json.dumps(words))
"""


def copy_of(folder: Path, change: Callable[[str], str], lot: Callable[[str], str] = str) -> Path:
    """A copy of growsim with other losses, and another month from seed to harvest."""
    shutil.copytree(ROOT / "growsim", folder / "growsim", ignore=shutil.ignore_patterns("__pycache__", "*.so"))
    for name, changed in (("vocabulary/losses.py", change), ("room/lot.py", lot)):
        path = folder / "growsim" / name
        before = path.read_text(encoding="utf-8")
        path.write_text(changed(before), encoding="utf-8")
    return folder


def ask(copy: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """What a Python that finds that copy says; it works in the copy's folder."""
    found = os.pathsep.join([str(copy), str(ROOT / "tests" / "report"), *sys.path])
    command = [sys.executable, "-P", *words]
    return subprocess.run(
        command, cwd=copy, env={**os.environ, "PYTHONPATH": found}, capture_output=True, text=True, check=False
    )


def with_star_blight(text: str) -> str:
    """The table with a row more."""
    assert "\nLOSSES: Final = (" in text
    return text.replace("\nLOSSES: Final = (", f"{ROW}\nLOSSES: Final = (STAR_BLIGHT, ")


def burning(text: str) -> str:
    """Half of all plants are lost to it when they are moved."""
    assert DIES in text
    return text.replace(DIES, BURNS).replace("TRANSPLANTING", "STAR_BLIGHT")


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of everything asked of the copy."""
    copy = copy_of(tmp_path_factory.mktemp("copy"), with_star_blight, burning)
    done = ask(copy, "-c", ASKED, str(ROOT / "scenarios" / "tiny"), RECORD)
    assert done.returncode == 0, done.stderr
    return copy


def text(told: Path, name: str) -> str:
    """A file of the answers; every cell of a page's tables alike."""
    return (told / name).read_text(encoding="utf-8").replace('<th scope="row">', "<td>").replace("</th>", "</td>")


def rows(told: Path, name: str) -> list[dict[str, str]]:
    """A table of the answers."""
    with (told / name).open(encoding="utf-8", newline="") as table:
        return list(csv.DictReader(table))


@pytest.mark.parametrize("answer", ["made up", "rehearsed"])
def test_a_rehearsal_counts_it_as_the_largest(told: Path, answer: str) -> None:
    """Most plants die of it: in the table of where every seed went no other loss of plants is as large."""
    page = text(told, f"{answer}/report.html")
    fates = rows(told, f"{answer}/fates.csv")
    years = len({row["replication"] for row in fates})
    crops = list(dict.fromkeys(row["crop"] for row in fates))
    lost = {
        key: [sum(int(row["plants"]) for row in fates if (row["crop"], row["fate"]) == (crop, key)) for crop in crops]
        for key in LOST
    }
    cells = page.split("<td>spoiled by star blight</td>")[1].split("</tr>")[0]
    said = [float(cell.replace(",", "")) for cell in re.findall(r"<td>([\d,.]+) \(", cells)]

    assert max(lost, key=lambda key: sum(lost[key])) == "star_blight"
    assert said == pytest.approx([plants / years for plants in lost["star_blight"]], abs=0.051)


@pytest.mark.parametrize("answer", ["made up", "rehearsed"])
def test_the_tables_and_pictures_have_it(told: Path, answer: str) -> None:
    """Every file that lists losses has it by name; pictures also in its color, read back from the SVG."""
    page = text(told, f"{answer}/report.html")
    measured = {row["measure"]: row["label"] for row in rows(told, f"{answer}/measures.csv")}
    fates = {row["fate"]: row["label"] for row in rows(told, f"{answer}/fates.csv")}

    assert "<td>spoiled by star blight</td>" in page
    for picture in ("every-seed", "losses-and-failures"):
        svg = text(told, f"{answer}/figures/{picture}.svg")
        assert "spoiled by star blight</text>" in svg
        assert "#7a3e00" in svg
    assert measured["plants_lost_star_blight"] == "Plants spoiled by star blight"
    assert fates["star_blight"] == "spoiled by star blight"
    assert any(row["series"] == "lost:star_blight" for row in rows(told, f"{answer}/week_summaries.csv"))


def test_months_and_crops_count_it(told: Path) -> None:
    """Counted again from the CSV files: January's four weeks, and the share of a crop's seeds lost once up."""
    page = text(told, "rehearsed/report.html")
    weeks = [row for row in rows(told, "rehearsed/week_summaries.csv") if int(row["week"]) <= 4]
    lost = sum(float(row["mean"]) for row in weeks if row["series"].removeprefix("lost:") in LOST) / 4
    fates = [row for row in rows(told, "rehearsed/fates.csv") if row["crop"] == "small head"]
    head = sum(int(row["plants"]) for row in fates if row["fate"] in LOST)
    share = 100 * head / sum(int(row["plants"]) for row in fates)

    assert f"<td>{lost:.1f}</td></tr>" in page.split("<td>Jan 2031</td>")[1].split("\n")[0]
    assert f"<td>{share:.0f}%</td>" in page.split("<td>small head</td>")[-1].split("\n")[0]


def test_one_year_tells_of_it(told: Path) -> None:
    """Its story, its summary, and the page that steps through it day by day."""
    answer = json.loads(text(told, "one/summary.json"))["answer"]
    greens = json.loads(text(told, "words.json"))["greens"]

    assert any(said.startswith("Plants spoiled by star blight") for said in answer)
    assert " spoiled by star blight" in text(told, "one/story.txt")
    assert any(said.endswith(" spoiled by star blight.") for said in greens)


def test_a_record_may_name_it(told: Path) -> None:
    """The empty tables ask for it, and a row that says "brown tips" is counted under it in the funder's page."""
    assert "star blight, no room, dried out" in text(told, "templates/how to keep a record.txt")
    assert "<td>star blight</td><td>5</td>" in text(told, "funder/report.html")


def test_a_funder_is_told_of_it(told: Path) -> None:
    """The table says how many, and what helps."""
    assert "spoiled by star blight (what helps: a breeze over the leaves)" in text(told, "funder/report.html")


def test_comparisons_and_outages_have_it(told: Path) -> None:
    """What may lie behind a difference, and what an outage can cause."""
    words = json.loads(text(told, "words.json"))

    assert "plants_lost_star_blight" in words["behind"]
    assert "star_blight" in words["by outage"]


@pytest.mark.parametrize(
    ("change", "lot", "sentence"),
    [
        (
            lambda text: with_star_blight(text).replace('    hatch="oo",\n', ""),
            str,
            "TypeError: Loss.__init__() missing 1 required keyword-only argument: 'hatch'",
        ),
        (
            lambda text: with_star_blight(text).replace('"a breeze over the leaves"', '""'),
            str,
            "ValueError: growsim/vocabulary/losses.py, star_blight: helps is empty; every fate has one.",
        ),
        (
            lambda text: with_star_blight(text).replace('"#7a3e00"', '"brown"'),
            str,
            "ValueError: growsim/vocabulary/losses.py, star_blight: color 'brown' is none; write it as #rrggbb.",
        ),
        (
            lambda text: with_star_blight(text).replace('("star blight", "brown tips")', "None"),
            str,
            "ValueError: growsim/vocabulary/losses.py, star_blight: record_words is None; say how a record calls a "
            "loss of plants.",
        ),
        (
            lambda text: with_star_blight(text).replace('"brown tips"', '"bolted"'),
            str,
            "ValueError: growsim/vocabulary/losses.py, overgrown: the record word bolted is taken by star_blight; "
            "choose another.",
        ),
        (
            str,
            burning,
            "ImportError: cannot import name 'STAR_BLIGHT' from 'growsim.vocabulary.losses'",
        ),
    ],
    ids=["no hatch", "nothing helps", "no color", "no record word", "a word of another", "no row"],
)
def test_what_lacks_something_is_refused_at_import(
    tmp_path: Path, change: Callable[[str], str], lot: Callable[[str], str], sentence: str
) -> None:
    """One sentence that says what is missing."""
    done = ask(copy_of(tmp_path, change, lot), "-c", "import growsim.room.lot")

    assert done.returncode == 1
    assert done.stderr.splitlines()[-1].startswith(sentence)
