"""The oldest libraries that pyproject.toml allows, as constraints for pip: every `>=` read as `==`."""

import tomllib
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[1] / "pyproject.toml"

for wanted in tomllib.loads(PROJECT.read_text(encoding="utf-8"))["project"]["dependencies"]:
    print(wanted.split(",")[0].replace(">=", "=="))
