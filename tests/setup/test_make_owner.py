"""The first owner of an empty book."""

import io

import pytest
from django.core.management import CommandError, call_command

from workshop.core.models import Role, User

pytestmark = pytest.mark.django_db


def test_first_owner_signs_in_with_the_password_shown_once() -> None:
    said = io.StringIO()

    call_command("make_owner", "anna", stdout=said)

    owner = User.objects.get()
    password = said.getvalue().splitlines()[0].rpartition(" ")[2]
    assert owner.role == Role.OWNER
    assert owner.check_password(password)
    assert not owner.is_superuser


@pytest.mark.parametrize("name", ["anna", "a name", ""])
def test_owner_with_an_impossible_name_is_refused_and_not_written(name: str) -> None:
    call_command("make_owner", "anna", stdout=io.StringIO())

    with pytest.raises(CommandError):
        call_command("make_owner", name, stdout=io.StringIO())

    assert User.objects.count() == 1
