"""A password given once more, as the signature under an act."""

from dataclasses import dataclass

from workshop.core.errors import Refused
from workshop.core.models import User


@dataclass(frozen=True)
class Confirmed:
    """That the person of this key has just given their own password for one act."""

    person_id: int

    def is_of(self, person: User) -> bool:
        return self.person_id == person.pk


def confirm(person: User, password: str, *, field: str | None = "password") -> Confirmed:
    """Raise Refused unless this is the person's own password; hand back what proves it."""
    if not person.check_password(password):
        raise Refused("That is not your password. Nothing was done.", field=field)
    return Confirmed(person.pk)
