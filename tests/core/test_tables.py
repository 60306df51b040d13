"""What the database refuses of people and of the workshop."""

import pytest
from django.db import IntegrityError, transaction

from tests import make
from workshop.core.models import User, Workshop

pytestmark = pytest.mark.django_db


def test_person_of_an_unknown_role_is_refused() -> None:
    person = make.user()

    with pytest.raises(IntegrityError), transaction.atomic():
        User.objects.filter(pk=person.pk).update(role="king")


def test_person_of_a_name_that_is_taken_is_refused() -> None:
    person = make.user()

    with pytest.raises(IntegrityError), transaction.atomic():
        make.user(username=person.username)


def test_second_workshop_is_refused() -> None:
    Workshop.objects.create(pk=1, name="One", address="Here")

    with pytest.raises(IntegrityError), transaction.atomic():
        Workshop.objects.create(pk=2, name="Two", address="There")


def test_workshop_of_an_unknown_market_is_refused() -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Workshop.objects.create(pk=1, name="One", address="Here", market="XX")


def test_password_is_in_no_table_of_history() -> None:
    columns = {field.name for field in User.history.model._meta.get_fields()}

    assert columns & {"password", "last_login"} == set()
    assert {"username", "role", "is_active"} <= columns
