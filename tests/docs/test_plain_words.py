"""Every text in the source that a person may read: sentences, captions, forms, messages, --help."""

from __future__ import annotations

import pytest
from plain_words import HERE, faults_of, texts_in

DICTIONARY = "dictionary.py"  # a list with points, no sentence


@pytest.mark.parametrize("package", sorted(each.name for each in HERE.iterdir() if (each / "__init__.py").is_file()))
def test_every_text_is_plain(package: str) -> None:
    """Sentences of at most 25 words, and no word that growsim/vocabulary/WORDS.md has another for."""
    found = [
        f"{file.relative_to(HERE)}:{line}: {fault}"
        for file in sorted((HERE / package).rglob("*.py"))
        if file.name != DICTIONARY
        for line, text in texts_in(file.read_text(encoding="utf-8"))
        if " " in text
        for fault in faults_of(text)
    ]

    assert found == []


def test_a_long_sentence_and_a_forbidden_word_are_found() -> None:
    """What stands between backticks is one word, the range of a number is read with it, what is put in is one."""
    assert faults_of("word " * 25 + "(1 to 3), `growsim compare ROOM x.toml`.") == [
        "26 words: " + "word " * 25 + ", This."
    ]
    assert faults_of("word " * 24 + "{}. Then more.") == []
    assert [each.split(":")[0] for each in faults_of("By luck, of practiced hands.")] == ["'luck, lucky'", "'hands'"]
    assert faults_of("Clean hands; it hands out greens.") == []
    assert list(texts_in('"""Doc."""\nx = f"a {y} b"\nz = "c d"\n')) == [(2, "a {} b"), (3, "c d")]
