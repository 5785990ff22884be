"""An icon on the desktop that opens the page: what it would run is read as each system reads it.

Linux: the rules of Exec are those of the Desktop Entry Specification (freedesktop.org, from memory). macOS: run by sh.
Windows: common practice, no source; no Windows at hand, so only its text is looked at.
"""

from __future__ import annotations

import configparser
import re
import subprocess
import sys
from pathlib import Path

import pytest

from growsim.__main__ import main
from growsim.errors import InputError
from growsim.web.icon import desktop_of, icon_for

ODD = ["/opt/a b/py'thon", "-m", "growsim", "--folder", 'Our "best" rooms $HOME `x` \\ 100%']


def exec_words(line: str) -> list[str]:
    """Words of an Exec line: the escapes of a value undone first, then those in quotes; %% is a percent."""
    value = line.replace("\\\\", "\0").replace("\0", "\\")
    words = re.findall(r'"((?:[^"\\]|\\.)*)"', value)
    return [re.sub(r"\\(.)", r"\1", word).replace("%%", "%") for word in words]


def test_a_linux_desktop_reads_the_command_back() -> None:
    """Word by word, with all that has to be escaped; a file of the form asked for."""
    icon = icon_for("linux", ODD, Path("/home/x/Our rooms"), Path("/opt/a b/icon.svg"))
    entry = configparser.ConfigParser(interpolation=None)
    entry.read_string(icon.text)

    assert icon.name == "growsim Our rooms.desktop"
    assert dict(entry["Desktop Entry"]) == {
        "type": "Application",
        "version": "1.0",
        "name": "growsim Our rooms",
        "comment": "Rehearse a grow room in the browser",
        "exec": entry["Desktop Entry"]["exec"],
        "icon": "/opt/a b/icon.svg",
        "terminal": "true",
    }
    assert exec_words(entry["Desktop Entry"]["exec"]) == ODD


def test_sh_reads_the_command_back(tmp_path: Path) -> None:
    """The .command run by sh, with a Python that only says what it was given."""
    says = tmp_path / "a b" / "say'them"
    says.parent.mkdir()
    says.write_text('#!/bin/sh\nprintf "%s\\n" "$@"\n', encoding="utf-8")
    says.chmod(0o755)
    icon = icon_for("darwin", [str(says), *ODD[1:]], Path("/x/rooms"), Path("i.svg"))
    file = tmp_path / icon.name
    file.write_text(icon.text, encoding="utf-8")
    said = subprocess.run(["/bin/sh", str(file)], capture_output=True, text=True, check=True)

    assert icon.executable
    assert said.stdout.splitlines() == ODD[1:]


def test_windows_gets_a_command_file() -> None:
    """Quoted, percent signs doubled, lines as Windows has them, other letters than ASCII allowed."""
    icon = icon_for("win32", ["C:\\a b\\python.exe", "C:\\100% Grün"], Path("C/Grün"), Path("i.svg"))

    assert icon.name == "growsim Grün.cmd"
    assert icon.text.splitlines()[-2] == '@"C:\\a b\\python.exe" "C:\\100%% Grün"'
    assert "chcp 65001" in icon.text
    assert icon.text.count("\r\n") == icon.text.count("\n")


def test_the_desktop_is_found(tmp_path: Path) -> None:
    """By its name in the language of the system; else by the usual one; else it is said that there is none."""
    with pytest.raises(InputError, match="no desktop"):
        desktop_of("linux", tmp_path, {})
    (tmp_path / "Desktop").mkdir()
    assert desktop_of("linux", tmp_path, {}) == tmp_path / "Desktop"
    (tmp_path / ".config").mkdir()
    named = 'XDG_DESKTOP_DIR="$HOME/Skrivebord"\n'
    (tmp_path / ".config" / "user-dirs.dirs").write_text(named, encoding="utf-8")
    (tmp_path / "Skrivebord").mkdir()
    assert desktop_of("linux", tmp_path, {}) == tmp_path / "Skrivebord"
    assert desktop_of("darwin", tmp_path, {}) == tmp_path / "Desktop"


@pytest.mark.skipif(sys.platform != "linux", reason="writes a .desktop entry")
def test_the_command_puts_it_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Once, and again over its own; never over a file of somebody else's."""
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv("XDG_CONFIG_HOME", raising=False)
    (tmp_path / "Desktop").mkdir()
    rooms = tmp_path / "rooms"
    rooms.mkdir()
    file = tmp_path / "Desktop" / "growsim rooms.desktop"

    assert [main(["page", "--folder", str(rooms), "--icon"]) for _ in range(2)] == [0, 0]
    assert str(file) in capsys.readouterr().out
    assert file.stat().st_mode & 0o100
    line = next(line for line in file.read_text(encoding="utf-8").splitlines() if line.startswith("Exec="))
    assert exec_words(line) == [sys.executable, "-P", "-m", "growsim", "page", "--folder", str(rooms)]

    file.write_text("mine", encoding="utf-8")
    assert main(["page", "--folder", str(rooms), "--icon"]) == 2
    assert "not of growsim" in capsys.readouterr().err
    assert file.read_text(encoding="utf-8") == "mine"
