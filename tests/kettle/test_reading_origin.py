"""Who weighed: a reading is booked under whoever took it, whoever is signed in when it is sent."""

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.core import signing
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django.asserts import assertContains

from tests import make
from tests.kettle import build
from workshop.core.database import triggers
from workshop.core.errors import ActionRefused
from workshop.core.models import Role, User
from workshop.core.saving.new_tokens import new_token
from workshop.kettle.models import Batch, Weighing
from workshop.kettle.weighing import reading_origin
from workshop.kettle.weighing.reading_origin import attribution, ticket_for
from workshop.ledger.models import Posting

pytestmark = pytest.mark.django_db
STRANGE = (
    "We cannot verify who took this reading: it carries no valid ticket of this batch. "
    "Reload the page, and record it again."
)


@pytest.fixture
def ana() -> User:
    return make.user(Role.MAKER, first_name="Ana")


@pytest.fixture
def ben(client: Client) -> User:
    """Whose session carries what the device had kept."""
    person = make.user(Role.MAKER, first_name="Ben")
    client.force_login(person)
    return person


@pytest.fixture
def batch() -> Batch:
    return build.batch(at=timezone.now() - timedelta(hours=1))


def reference(batch: Batch) -> str:
    return batch.operation.reference


def reading(batch: Batch, ticket: str, **values: Any) -> dict[str, Any]:
    line = batch.lines.all()[0]
    return {
        "line": line.pk,
        "lot": make.lot(line.item).code,
        "reading_g": "12.5",
        "scale": batch.scale_id,
        "token": new_token(),
        "ticket": ticket,
        **values,
    }


def send(client: Client, batch: Batch, data: dict[str, Any]) -> tuple[int, dict[str, Any]]:
    address = reverse("kettle:weigh", args=[reference(batch)])
    response = client.post(address, data, headers={"accept": "application/json"})
    answer: dict[str, Any] = response.json()
    return response.status_code, answer


def test_reading_is_booked_under_whoever_weighed_it(
    client: Client, ana: User, ben: User, batch: Batch
) -> None:
    status, _ = send(client, batch, reading(batch, ticket_for(ana, reference(batch))))

    weighing = Weighing.objects.get()
    assert (status, weighing.posting.by) == (200, ana)
    assert weighing.note == "sent when Ben was signed in"


def test_reading_of_whoever_is_signed_in_needs_no_note(
    client: Client, ben: User, batch: Batch
) -> None:
    send(client, batch, reading(batch, ticket_for(ben, reference(batch))))

    weighing = Weighing.objects.get()
    assert (weighing.posting.by, weighing.note) == (ben, "")


def test_page_of_before_without_a_ticket_books_under_the_session(
    client: Client, ben: User, batch: Batch
) -> None:
    data = reading(batch, "")
    del data["ticket"]

    send(client, batch, data)

    assert Weighing.objects.get().posting.by == ben


def test_reading_sent_again_by_another_stays_with_whoever_weighed_it(
    client: Client, ana: User, ben: User, batch: Batch
) -> None:
    data = reading(batch, ticket_for(ana, reference(batch)))
    send(client, batch, data)
    client.force_login(make.user(Role.MAKER))

    status, _ = send(client, batch, data)

    assert (status, Weighing.objects.get().posting.by) == (200, ana)


@pytest.mark.parametrize("spoil", [str.swapcase, lambda text: f"{text}x", lambda _: "a:b:c"])
def test_forged_ticket_is_refused_in_a_sentence(
    client: Client, ana: User, ben: User, batch: Batch, spoil: Any
) -> None:
    ticket = spoil(ticket_for(ana, reference(batch)))

    assert send(client, batch, reading(batch, ticket)) == (422, {"sentence": STRANGE})
    assert not Weighing.objects.exists()


def test_ticket_of_another_batch_is_refused(
    client: Client, ana: User, ben: User, batch: Batch
) -> None:
    other = build.batch()

    answer = send(client, batch, reading(batch, ticket_for(ana, reference(other))))

    assert answer == (422, {"sentence": STRANGE})
    assert not Weighing.objects.exists()


def test_ticket_signed_for_something_else_is_refused(
    client: Client, ana: User, ben: User, batch: Batch
) -> None:
    other = signing.dumps([ana.pk, reference(batch)], salt="another purpose")

    assert send(client, batch, reading(batch, other))[0] == 422


def test_ticket_of_somebody_gone_is_refused(client: Client, ben: User, batch: Batch) -> None:
    gone = User(pk=999_999)

    assert send(client, batch, reading(batch, ticket_for(gone, reference(batch))))[0] == 422


def test_ticket_of_a_packer_is_refused(client: Client, ben: User, batch: Batch) -> None:
    pia = make.user(Role.PACKER, first_name="Pia")

    status, answer = send(client, batch, reading(batch, ticket_for(pia, reference(batch))))

    assert status == 422
    assert answer["sentence"] == (
        "Pia weighed this, but was not a maker then. Whoever answers for it records it again under "
        "their own name."
    )


def test_maker_who_has_left_since_still_weighed_what_they_weighed(
    client: Client, ana: User, ben: User, batch: Batch
) -> None:
    taken = timezone.now() - timedelta(minutes=30)
    triggers.remove(connection)
    ana.history.update(history_date=taken - timedelta(days=1))
    ana.is_active = False
    ana.save()

    status, _ = send(
        client, batch, reading(batch, ticket_for(ana, reference(batch)), at=taken.isoformat())
    )

    assert (status, Weighing.objects.get().posting.by) == (200, ana)


def test_whoever_had_left_before_did_not_weigh(
    client: Client, ana: User, ben: User, batch: Batch
) -> None:
    ana.is_active = False
    ana.save()
    triggers.remove(connection)
    ana.history.update(history_date=timezone.now() - timedelta(minutes=30))

    assert send(client, batch, reading(batch, ticket_for(ana, reference(batch))))[0] == 422


def test_ticket_lasts_90_days(ana: User, monkeypatch: pytest.MonkeyPatch) -> None:
    at: datetime = timezone.now()
    ticket = ticket_for(ana, "K-1")
    assert attribution(ticket, reference="K-1", carrier=ana, at=at) == ana

    monkeypatch.setattr(reading_origin, "LASTS", timedelta(seconds=-1))
    with pytest.raises(ActionRefused, match="opened more than 90 days ago"):
        attribution(ticket, reference="K-1", carrier=ana, at=at)


def test_reading_taken_back_before_it_was_sent_stands_struck_through(
    client: Client, ana: User, ben: User, batch: Batch
) -> None:
    ticket = ticket_for(ana, reference(batch))
    data = reading(batch, ticket, taken_back=new_token(), taken_back_by=ticket)

    first, again = send(client, batch, data), send(client, batch, data)

    assert (first[0], again[0]) == (200, 200)
    assert not Weighing.objects.effective().exists()
    reversal = Posting.objects.get(corrects=Weighing.objects.get().posting)
    assert (reversal.by, reversal.reason) == (ana, "before it reached the book")


def test_reading_of_hers_that_he_took_back_is_taken_back_by_him(
    client: Client, ana: User, ben: User, batch: Batch
) -> None:
    back = {"taken_back": new_token(), "taken_back_by": ticket_for(ben, reference(batch))}

    send(client, batch, reading(batch, ticket_for(ana, reference(batch)), **back))

    weighing = Weighing.objects.get()
    assert weighing.posting.by == ana
    assert Posting.objects.get(corrects=weighing.posting).by == ben


def test_note_of_the_maker_stands_before_who_carried_it(
    client: Client, ana: User, ben: User, batch: Batch
) -> None:
    send(client, batch, reading(batch, ticket_for(ana, reference(batch)), note="jug dripped"))

    assert Weighing.objects.get().note == "jug dripped; sent when Ben was signed in"


def test_who_carried_a_reading_is_no_reason_to_mend_a_poured_batch(
    client: Client, ana: User, ben: User
) -> None:
    poured = build.poured()

    status, answer = send(client, poured, reading(poured, ticket_for(ana, reference(poured))))

    assert status == 422
    assert "is poured already" in answer["sentence"]


def test_reading_that_puts_a_poured_batch_right_tells_who_brought_it(
    client: Client, ana: User, ben: User
) -> None:
    poured = build.poured(at=timezone.now() - timedelta(hours=1))
    ticket = ticket_for(ana, reference(poured))

    send(client, poured, reading(poured, ticket, note="forgotten jug"))

    weighing = Weighing.objects.order_by("pk").last()
    assert weighing
    assert weighing.posting.by == ana
    assert weighing.note == "forgotten jug; sent when Ben was signed in"


def test_long_note_leaves_room_for_who_brought_the_reading(
    client: Client, ana: User, ben: User, batch: Batch
) -> None:
    send(client, batch, reading(batch, ticket_for(ana, reference(batch)), note="x" * 300))

    note = Weighing.objects.get().note
    assert len(note) == 300
    assert note.endswith("x; sent when Ben was signed in")


def test_page_gives_its_reader_a_ticket_of_the_batch(
    client: Client, ben: User, batch: Batch
) -> None:
    response = client.get(reverse("kettle:weigh", args=[reference(batch)]))

    ticket = response.context["ticket"]
    assertContains(response, f'<input type="hidden" name="ticket" value="{ticket}">', html=True)
    found = attribution(ticket, reference=reference(batch), carrier=make.user(), at=timezone.now())
    assert found == ben


def test_plain_page_notices_a_reading_of_another_maker(
    client: Client, ben: User, batch: Batch
) -> None:
    """Without a script: the page carries what it showed as taken, and a second yes confirms."""
    line = batch.lines.all()[0]
    address = reverse("kettle:weigh", args=[reference(batch)])
    shown = client.get(address)
    assertContains(shown, '<input type="hidden" name="shown_taken_g" value="0.000">', html=True)
    build.weigh(line, "500", at=timezone.now())
    data = reading(batch, shown.context["ticket"], reading_g="500", shown_taken_g="0.000")

    asked = client.post(address, data)

    assertContains(asked, "Somebody weighed it meanwhile. Confirm only if these")
    assertContains(asked, 'value="500"')
    assertContains(asked, '<input type="hidden" name="shown_taken_g" value="500.000">', html=True)
    assertContains(asked, f'<input type="hidden" name="token" value="{data["token"]}">', html=True)
    assert Weighing.objects.count() == 1

    assertContains(asked, '<input type="hidden" name="confirmed" value="yes">', html=True)

    client.post(address, data | {"shown_taken_g": "500.000", "confirmed": "yes"})
    assert Weighing.objects.count() == 2
