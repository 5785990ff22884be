"""The front door at the command line: arguments in, sentences and files out, an exit code.

Belongs here: reading arguments, calling a study and a report, printing. Does not belong here: arithmetic, sentences
about results; the page, which stands on top of this and asks the same commands. May import: everything below but
`room`; heavy libraries and the drawing's models only inside functions, so that `growsim --help` is quick. A new command
is a row of `vocabulary.questions` and a module of its name here; see `commands`.
"""

from growsim.cli.door import main

__all__ = ["main"]
