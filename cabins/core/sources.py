"""How far a rule's source was read, and the source itself: named beside every rule and in every answer."""

from dataclasses import dataclass
from enum import StrEnum


class SourceMark(StrEnum):
    """How well a rule is founded. A rule from memory warns; it never decides alone."""

    SEEN = "seen"
    SECOND_HAND = "second-hand"
    MEMORY = "from memory"
    PRACTICE = "common practice, no source"
    LOCAL_CODE = "local code"


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Where a rule comes from."""

    title: str
    mark: SourceMark

    @property
    def in_words(self) -> str:
        """For a crew: the title, and how well it is founded where nobody read it."""
        return self.title if self.mark is SourceMark.SEEN else str(self)

    def __str__(self) -> str:
        return f"{self.title} ({self.mark.value})"


MP579 = Source(title="USDA Misc. Pub. 579, Building with Logs (Fickes and Groben 1945)", mark=SourceMark.SEEN)
ILBA_SEEN = Source(title="ILBA Log Building Standards 2000, section 2.A", mark=SourceMark.SEEN)
PRACTICE = Source(title="the trade", mark=SourceMark.PRACTICE)
ILBA_MEMORY = Source(title="ILBA Log Building Standards 2000", mark=SourceMark.MEMORY)
