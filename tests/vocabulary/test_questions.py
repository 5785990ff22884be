"""A question is described once: every door asks it in the same words and order, and nothing of it is missing."""

from __future__ import annotations

import re
from importlib.util import find_spec
from pathlib import Path

import pytest

import growsim
from growsim.cli.commands import add_arguments, module_of
from growsim.cli.door import PAGE, Parser, parser
from growsim.vocabulary.questions import BY_NAME, COMMANDS, QUESTIONS, Question, Work
from growsim.web import command as page_command
from growsim.web.ask.questions import _FIELDS, ON_ASK_PAGE

ROOT = Path(__file__).parents[2]
ASKED_IN_TABLE = re.compile(r"^\|(?P<asks>[^|]+)\|[^|]*?`growsim (?P<name>[a-z]+)", re.MULTILINE)


def missing(question: Question) -> list[str]:
    """What a question of the vocabulary calls for and the house does not have, a sentence each."""
    said = []
    if question.is_command and question.name != PAGE and find_spec(f"growsim.cli.{question.name}") is None:
        said.append(f"growsim/cli/{question.name}.py is missing: the question has no command.")
    if question.has_report and find_spec(f"growsim.report.{question.folder}") is None:
        said.append(f"growsim/report/{question.folder}/answer.py is missing: the question has no report.")
    if question.place == "ask" and question.name not in _FIELDS:
        said.append(f"growsim/web/ask/questions.py has no fields for '{question.name}', which stands on the ask page.")
    said += [
        f"growsim.{name} is missing: nothing in growsim.study.notebook answers it."
        for name in question.python
        if not hasattr(growsim, name)
    ]
    return said


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda question: str(question.name))
def test_nothing_is_missing_of_a_question(question: Question) -> None:
    """A command, a report, a form and a Python function, where its row has them."""
    assert missing(question) == []


def test_what_is_missing_of_a_new_question_is_said_in_a_sentence_each() -> None:
    """A row alone, as somebody would begin."""
    made_up = Question(
        name="sing", asks="May I sing?", about="Says so.", title="a song", leaves=(("report.html", "The song"),),
        folder="song", short="Singing", place="ask", work=Work(), python=("sing",),
    )  # fmt: skip

    assert missing(made_up) == [
        "growsim/cli/sing.py is missing: the question has no command.",
        "growsim/report/song/answer.py is missing: the question has no report.",
        "growsim/web/ask/questions.py has no fields for 'sing', which stands on the ask page.",
        "growsim.sing is missing: nothing in growsim.study.notebook answers it.",
    ]
    with pytest.raises(LookupError, match=r"^growsim/cli/sing\.py is missing: the question has no command\.$"):
        module_of(made_up)


@pytest.mark.parametrize(
    ("lacking", "said"),
    [
        ({"leaves": (("report.html", "The song"),), "folder": "song"}, "sing: title: its report has none."),
        ({"leaves": (("report.html", "The song"),), "title": "a song"}, "sing: folder: its report lies nowhere."),
        ({"place": "ask", "work": Work()}, "sing: short: its answers have no name in lists."),
        ({"place": "ask", "short": "Singing"}, "sing: work: nobody can say how long it takes."),
        ({"asks": "singing"}, "sing: asks: it is no sentence."),
    ],
)
def test_half_a_row_is_refused(lacking: dict[str, object], said: str) -> None:
    """Where the row is written, before anything else is loaded."""
    row: dict[str, object] = {"name": "sing", "asks": "May I sing?", "about": "Says so."}

    with pytest.raises(ValueError, match=re.escape(said)):
        Question(**{**row, **lacking})  # type: ignore[arg-type]


def test_names_are_told_apart() -> None:
    """No two questions of a name, of a Python function, or in the same words."""
    assert len(BY_NAME) == len(QUESTIONS) == len({question.asks for question in QUESTIONS})
    functions = [name for question in QUESTIONS for name in question.python]
    assert sorted(functions) == sorted(set(functions)) == [name for name in growsim.__all__ if name != "__version__"]


def test_terminal_and_page_ask_in_the_same_words_and_order() -> None:
    """Help lists every command; the page leaves out those that are no questions to a room."""
    helped = " ".join(parser({PAGE: page_command}).format_help().split())
    places = [helped.index(f"{question.name} {question.asks}") for question in COMMANDS]

    assert places == sorted(places)
    assert [name for name in BY_NAME if name in ON_ASK_PAGE] == list(ON_ASK_PAGE)


def test_the_readme_asks_in_the_same_words_and_order() -> None:
    """Its table of questions."""
    asked = ASKED_IN_TABLE.findall((ROOT / "README.md").read_text(encoding="utf-8"))

    assert [(asks.strip(), name) for asks, name in asked] == [(question.asks, question.name) for question in COMMANDS]


@pytest.mark.parametrize("question", COMMANDS, ids=lambda question: str(question.name))
def test_a_command_takes_the_files_of_its_question(question: Question) -> None:
    """Those it needs and no other are asked for; those it may have are options."""
    made = Parser(prog="growsim")
    add_arguments(made, question, page_command if question.name == PAGE else None)
    needed = [action.dest for action in made._actions if action.required]
    known = {action.dest for action in made._actions}

    assert needed == [*question.needs, *(["folder"] if question.name == "new" else [])]
    assert set(question.takes) <= known
