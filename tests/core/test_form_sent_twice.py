"""A token stands for what its form was sent with."""

from decimal import Decimal

import pytest

from tests import make
from workshop.core.errors import ActionRefused
from workshop.core.models import SentForm
from workshop.core.saving.form_sent_twice import check_idempotency

pytestmark = pytest.mark.django_db


def test_same_content_again_is_let_through_however_it_is_written() -> None:
    """Twelve is twelve: a retry over a bad network must not be told otherwise."""
    check_idempotency("t1", "count", counted=Decimal("12.000"), reason="Counted ")
    check_idempotency("t1", "count", counted=Decimal(12), reason="Counted")
    assert SentForm.objects.count() == 1


def test_other_content_names_what_differs_and_gives_the_form_a_token_of_its_own() -> None:
    check_idempotency("t1", "count", counted=Decimal(12), reason="Counted")
    with pytest.raises(ActionRefused) as refused:
        check_idempotency("t1", "count", counted=Decimal(13), reason="Counted again")
    assert refused.value.message.startswith(
        "This form was already sent with other figures (counted, reason)"
    )
    assert refused.value.renewed["token"] not in ("", "t1")


def test_rows_and_lists_are_told_apart() -> None:
    one, other = make.lot(), make.lot()
    check_idempotency("t1", "dispatch", lots=[(one, Decimal(5))])
    check_idempotency("t1", "dispatch", lots=[(one, Decimal(5))])
    with pytest.raises(ActionRefused, match="lots"):
        check_idempotency("t1", "dispatch", lots=[(other, Decimal(5))])


def test_no_token_is_no_promise() -> None:
    check_idempotency(None, "count", counted=1)
    assert not SentForm.objects.exists()
