"""Every wrong CHANGE file is refused in one plain sentence: file, key, what is wrong, what would be right."""

from __future__ import annotations

from pathlib import Path

import pytest
from wrong_changes import WRONG_CHANGES

from growsim.cli import main

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"


@pytest.mark.parametrize(
    ("text", "key", "problem", "remedy"), [case[1:] for case in WRONG_CHANGES], ids=[case[0] for case in WRONG_CHANGES]
)
def test_a_wrong_change_is_answered_with_one_sentence(
    text: str,
    key: str,
    problem: str,
    remedy: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Exit code 2, one line on stderr that names the CHANGE file, nothing on stdout, nothing written."""
    monkeypatch.chdir(tmp_path)
    Path("change.toml").write_text(text, encoding="utf-8")

    code = main(["compare", str(TINY), "change.toml"])

    out, err = capsys.readouterr()
    (line,) = err.splitlines()
    assert (code, out) == (2, "")
    assert line.startswith(f"change.toml, {key}: " if key else "change.toml: ")
    said, _, advice = line.partition("; ")
    assert problem in said
    assert remedy in advice
    assert line.endswith(".")
    assert not any(word in err for word in ("Traceback", "pydantic", "validation error", "NoneType"))
    assert [found.name for found in tmp_path.iterdir()] == ["change.toml"]


def test_there_are_at_least_twelve(tmp_path: Path) -> None:
    """The collection stays large, and no case has the name of another."""
    assert len({case[0] for case in WRONG_CHANGES}) == len(WRONG_CHANGES) >= 12


def test_changes_of_one_name_are_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two answers under one name could not be told apart."""
    files = []
    for folder, title in (("a", "one"), ("b", "two"), ("c", "one")):
        (tmp_path / folder).mkdir()
        files.append(tmp_path / folder / ("colder.toml" if folder != "c" else "cold.toml"))
        files[-1].write_text(f'[change]\nname = "{title}"\n[climate]\nair_temperature_c = 20\n', encoding="utf-8")

    assert main(["compare", str(TINY), *map(str, files)]) == 2
    first, second = capsys.readouterr().err.splitlines()
    assert first == (
        f"{files[1]}: has the same name as {files[0]}; name each change once, in files of different names."
    )
    assert second.startswith(f"{files[2]}, change.name: is 'one', which {files[0]} is called too")


def test_all_faults_of_all_files_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """So that nobody corrects one file after the other."""
    for name in ("hot", "cold"):
        (tmp_path / f"{name}.toml").write_text("[change]\nprice = -1\n", encoding="utf-8")

    assert main(["compare", str(TINY), str(tmp_path / "hot.toml"), str(tmp_path / "cold.toml")]) == 2
    assert [line.split(",")[0] for line in capsys.readouterr().err.splitlines()] == [
        str(tmp_path / "hot.toml"),
        str(tmp_path / "cold.toml"),
    ]
