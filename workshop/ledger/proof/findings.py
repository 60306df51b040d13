"""What a check of the book has to say."""

from dataclasses import dataclass, field

SHOWN = 20


@dataclass
class Finding:
    """What one check looked at, in how many rows, and the sentences it has to say."""

    check: str
    looked_at: int = 0
    problems: list[str] = field(default_factory=list)
    more: int = 0

    @property
    def is_sound(self) -> bool:
        return not self.problems

    def add(self, sentence: str) -> None:
        if len(self.problems) < SHOWN:
            self.problems.append(sentence)
        else:
            self.more += 1
