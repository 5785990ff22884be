"""The page that every report is made of: what is to be typed is set as such, and everything is escaped."""

from __future__ import annotations

from growsim.report.page import Bullets, Page, Section, Text, render, said


def test_what_is_to_be_typed_is_set_apart_and_escaped() -> None:
    """Pairs of backticks become code; what a user wrote stays text, within them too; one backtick alone stays."""
    assert said("say `growsim crew <ROOM>` & see") == "say <code>growsim crew &lt;ROOM&gt;</code> &amp; see"
    assert said("one ` alone") == "one ` alone"
    assert said(12) == "12"


def test_no_backtick_is_left_in_a_page() -> None:
    """In an answer, a note, a paragraph and a list."""
    sections = (Section("a", "A", (Text("`growsim check` here"), Bullets(("`growsim sow` there",)))),)
    page = render(Page("T", "under", (("Head", "`growsim rehearse` tells"),), sections, notes=("`growsim new`",)))

    assert "`" not in page
    assert page.count("<code>growsim ") == 4
