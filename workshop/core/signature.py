"""A password given once more, as the signature under an act; `passwords` asks for it."""

from dataclasses import dataclass

from workshop.core.models import User


@dataclass(frozen=True)
class Confirmed:
    """That the person of this key has just given their own password for one act."""

    person_id: int

    def is_of(self, person: User) -> bool:
        return self.person_id == person.pk
