"""The documents: short, and naming nothing that is not there."""

from __future__ import annotations

import importlib
import re
import shlex
from pathlib import Path

import pytest

from growsim.cli.door import parser
from growsim.vocabulary.losses import LOSSES
from growsim.web import command as page_command

ROOT = Path(__file__).parents[2]
README, DEVELOPERS = ROOT / "README.md", ROOT / "DEVELOPERS.md"
DOCUMENTS = (
    README,
    DEVELOPERS,
    ROOT / ".build" / "README.md",
    *sorted((ROOT / "growsim").rglob("*.md")),
    *sorted((ROOT / "tests").rglob("*.md")),
)
TOP = ("growsim/", "tests/", "scenarios/", "reports/", ".ci/", ".build/")
MADE = ("reports/millrace-",)  # by a command that the document names beforehand
ENDS = (".py", ".md", ".toml", ".csv", ".png", ".svg")


def names(document: Path) -> str:
    """As pytest shows it."""
    return document.relative_to(ROOT).as_posix()


def code_of(text: str) -> list[str]:
    """What stands between backticks, line breaks as spaces, and whole blocks of code line by line."""
    fenced = re.findall(r"```\w*\n(.*?)```", text, re.DOTALL)
    text = re.sub(r"```.*?```", "", text, flags=re.DOTALL)
    spans = [" ".join(span.split()) for span in re.findall(r"`([^`]+)`", text)]
    indented = [line.strip() for line in text.splitlines() if line.startswith("    ")]
    return [*spans, *(line for block in fenced for line in block.splitlines()), *indented]


def links_of(text: str) -> list[str]:
    """Where its links lead in this folder."""
    return [to for to in re.findall(r"\]\(([^)]+)\)", text) if "://" not in to]


def paths_of(text: str) -> list[str]:
    """Files and folders that it names in code: from the top of this folder, or by a name that ends as files do."""
    words = [word.strip(",;:'\"()") for span in code_of(text) for word in span.split()]
    words = [re.sub(r"::.*|\*.*", "", word) for word in words if not set(word) & set("<>={}$")]
    return [
        word
        for word in words
        if not word.startswith(MADE)
        and (word.startswith(TOP) or word.endswith(".py") or (word.endswith(ENDS) and "/" in word))
        and not word.startswith(("my-room", "/"))
    ]


def is_there(name: str, document: Path) -> bool:
    """Whether it is a path from the top, from the document's folder, or from growsim."""
    return any((home / name).exists() for home in (ROOT, document.parent, ROOT / "growsim"))


@pytest.mark.parametrize(("document", "most"), [(README, 150), (DEVELOPERS, 200)], ids=["README", "DEVELOPERS"])
def test_the_two_at_the_top_are_short(document: Path, most: int) -> None:
    """Each is read in one go, and its lines fit a screen."""
    lines = document.read_text(encoding="utf-8").splitlines()

    assert len(lines) <= most
    assert [line for line in lines if len(line) > 120 and not line.startswith(("|", "python3 -m venv"))] == []


@pytest.mark.parametrize("document", DOCUMENTS, ids=names)
def test_every_path_and_link_leads_somewhere(document: Path) -> None:
    """Nothing is named that was moved or taken out; a link starts from the document's own folder."""
    text = document.read_text(encoding="utf-8")

    assert [link for link in links_of(text) if not (document.parent / link.split("#")[0]).exists()] == []
    assert [path for path in paths_of(text) if not is_there(path, document)] == []


@pytest.mark.parametrize("document", DOCUMENTS, ids=names)
def test_every_module_and_name_in_it_is_there(document: Path) -> None:
    """`growsim.run.intervals.t_quantile` can be imported, as can all that is written so."""
    dotted = {
        name
        for span in code_of(document.read_text(encoding="utf-8"))
        for name in re.findall(r"growsim(?:\.\w+)+", span)
    }

    assert [name for name in sorted(dotted) if not can_be_had(name)] == []


def can_be_had(dotted: str) -> bool:
    """Whether it is a module, or an attribute of one (of an attribute of one)."""
    parts = dotted.split(".")
    for length in range(len(parts), 0, -1):
        try:
            found = importlib.import_module(".".join(parts[:length]))
        except ModuleNotFoundError:
            continue
        for name in parts[length:]:
            if not hasattr(found, name) and name not in getattr(found, "__annotations__", {}):
                return False
            found = getattr(found, name, None)
        return True
    return False


def commands_of(document: Path) -> list[str]:
    """Every `growsim ...` line of a document."""
    return [
        found.group(1)
        for span in code_of(document.read_text(encoding="utf-8"))
        if (found := re.search(r"(?:^|[ /])growsim ((?!COMMAND)[a-z].*)$", span)) and "|" not in span
    ]


@pytest.mark.parametrize("line", sorted({line for page in (README, DEVELOPERS) for line in commands_of(page)}))
def test_the_command_line_takes_every_command(line: str) -> None:
    """As written; none is started."""
    chosen = parser({"page": page_command}).parse_args(shlex.split(line))

    assert chosen.command == line.split(maxsplit=1)[0]


def test_the_commands_that_ci_runs_are_there() -> None:
    """.ci/run reads two commands of README.md, by their marks."""
    marked = re.findall(r"<!-- run: (\w+) -->\n```sh\n(.+)\n```", README.read_text(encoding="utf-8"))

    wanted = re.findall(r"^ *run_readme (\w+)", (ROOT / ".ci" / "run").read_text(encoding="utf-8"), re.MULTILINE)

    assert [name for name, _ in marked] == ["try", "tests"] == wanted


def test_docstrings_name_files_that_are_there() -> None:
    """A path in growsim's own text leads somewhere: from the top, from growsim, or from beside it."""
    lost = [
        f"{module.relative_to(ROOT)}: {path}"
        for module in sorted((ROOT / "growsim").rglob("*.py"))
        for path in re.findall(r"[\w.]+(?:/[\w.]+)+\.(?:py|md|toml)\b", module.read_text(encoding="utf-8"))
        if not is_there(path, module) and not (ROOT / "growsim" / module.parts[-2] / path).exists()
    ]

    assert lost == []


def test_every_decision_that_is_named_is_told() -> None:
    """(D6) in a docstring or a document is a line of DEVELOPERS.md; each number stands there once."""
    told = re.findall(r"^- \*\*(D\d+)\*\*", DEVELOPERS.read_text(encoding="utf-8"), re.MULTILINE)
    texts = [path.read_text(encoding="utf-8") for path in (*DOCUMENTS, *sorted((ROOT / "growsim").rglob("*.py")))]
    named = {number for text in texts for number in re.findall(r"[(*](D\d+)\b", text)}

    assert len(told) == len(set(told)) >= 20
    assert named - set(told) == set()


def test_the_model_tells_of_every_loss() -> None:
    """A row of the vocabulary is no loss until growsim/room/MODEL.md says when it happens."""
    text = (ROOT / "growsim" / "room" / "MODEL.md").read_text(encoding="utf-8")

    assert [loss.key for loss in LOSSES if f"`{loss.key}`" not in text] == []
