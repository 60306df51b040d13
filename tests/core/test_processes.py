"""Work among processes: each with a connection of its own, and what it comes to in order."""

import os

import pytest
from django.db import transaction

from tests import make
from workshop.core import processes
from workshop.core.models import User
from workshop.core.processes import many_hands

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def two_cores(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(processes, "_cores", lambda: 2)


def people() -> tuple[int, list[str]]:
    return os.getpid(), list(User.objects.order_by("pk").values_list("username", flat=True))


def refuse() -> None:
    raise ValueError("No.")


@pytest.mark.usefixtures("two_cores")
def test_others_read_what_is_committed() -> None:
    owner = make.user()

    with many_hands() as hands:
        begun = [hands.begin(people) for _ in range(6)]
        found = [one.result() for one in begun]

    assert hands.are_many
    assert [names for _, names in found] == [[owner.username]] * 6
    assert os.getpid() not in {process for process, _ in found}
    assert User.objects.get() == owner  # and this process has a connection again


@pytest.mark.usefixtures("two_cores")
def test_within_transaction_this_process_does_the_work() -> None:
    with transaction.atomic(), many_hands() as hands:
        owner = make.user()
        found = hands.begin(people).result()

    assert not hands.are_many
    assert found == (os.getpid(), [owner.username])


def test_one_core_does_it_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(processes, "_cores", lambda: 1)

    with many_hands() as hands:
        process, _ = hands.begin(people).result()

    assert process == os.getpid()


@pytest.mark.usefixtures("two_cores")
def test_what_went_wrong_is_told_here() -> None:
    with pytest.raises(ValueError, match=r"^No\.$"), many_hands() as hands:
        hands.begin(refuse).result()
