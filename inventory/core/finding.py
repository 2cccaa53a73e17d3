"""What is wrong or doubtful in what was sent: one kind of finding for lines, tables and documents."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One fault or doubt: a JSON pointer to it, a word for programs, words for people, what was read there.

    In a table `row` counts from 1 with the headings, and `column` is as headed there; row 0 and an empty
    column stand for the file as a whole.
    """

    pointer: str
    text: str
    code: str = ""
    read: str = ""
    row: int = 0
    column: str = ""

    @property
    def field(self) -> str:
        """The field of a chart's line that it is about; empty: none."""
        return self.pointer.removeprefix("/")
