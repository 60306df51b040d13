"""Odd input at every address of the book: a sentence, a refusal, never an error of the server."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import product
from typing import Any

import pytest
from django.apps import apps
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.db.models import Model
from django.test import Client
from django.urls import URLPattern, reverse

from tests import make
from tests.costs import build as costs
from tests.counts import build as counts
from tests.curing import build as curing
from tests.dispatch import build as dispatch
from tests.formulas import build as formulas
from tests.goods_in import build as goods_in
from tests.kettle import build as kettle
from tests.labels import build as labels
from tests.packing import build as packing
from tests.planning import build as planning
from tests.test_access import ALL, OPEN
from tests.trace import rooms
from workshop.aftersales.models import Complaint, Recall
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.counts.models import CountRound
from workshop.curing.models import Rack
from workshop.dispatch.services.delivery_confirmation import confirm_delivery
from workshop.kettle.services import say_left, start_timer
from workshop.labels.models import OwnSize
from workshop.labels.services import log_print, versions
from workshop.ledger.models import Item, Lot, Operation, Place, ShedKind
from workshop.materials.models import UseLimit
from workshop.materials.services import blends
from workshop.materials.services.blends import BlendComponent
from workshop.materials.services.organic import enter_known_rules
from workshop.materials.services.use_limits import save_use_limit
from workshop.planning.models import PurchaseOrder

# Signing out ends the session that the test needs.
LEFT_OUT = OPEN | {"front:sign-out"}
# Tried at every address of the book, and the rest in the rooms where units are counted.
ODD = {
    "nothing": "",
    "less than nothing": "-1",
    "beyond any number": "1e999",
    "very long": "x" * 10_000,
    "null": "a\x00b",
    "one": "1",
}
ODDER = {
    "no number": "NaN",
    "infinite": "-Infinity",
    "comma and spaces": " 12,5 ",
    "too many places": "0,0005",
    "full-width digits": "１２",
    "superscript": "²",
    "very large": "9" * 25,
    "emoji": "🫙🐝",
    "quotes": "' OR 1=1 --",
    "no day": "2026-02-30",
    "control": "\x1d\u202e\ufeff",
    "a list": "[1, {}]",
}
NAME = re.compile(r"<(?:input|select|textarea|button)\b[^>]*?\bname=\"([^\"]+)\"", re.DOTALL)
FILE = re.compile(r"<input\b[^>]*?type=\"file\"[^>]*?\bname=\"([^\"]+)\"", re.DOTALL)


@dataclass
class World:
    """One of everything, so that every address names something."""

    client: Client
    values: dict[str, list[Any]]

    def find(self, name: str, pattern: URLPattern) -> str | None:
        """The first address of this name that is in the book."""
        keys = keys_of(pattern)
        for values in product(*(self.values[key] for key in keys)):
            address = reverse(name, kwargs=dict(zip(keys, values, strict=True)))
            if self._is_there(address):
                # What was found is tried first for the next address.
                for key, value in zip(keys, values, strict=True):
                    self.values[key].remove(value)
                    self.values[key].insert(0, value)
                return address
        return None

    def _is_there(self, address: str) -> bool:
        with transaction.atomic():
            status = self.client.get(address).status_code
            if status == 405:
                status = self.client.post(address).status_code
            transaction.set_rollback(True)
        return status not in (404, 400)


def keys_of(pattern: URLPattern) -> list[str]:
    return list(pattern.pattern.converters)


# Rooms whose addresses number what another room keeps.
NUMBERED_IN = {
    "aftersales": {"dispatch"},
    "formulas": {"formulas", "ledger"},
    "kettle": {"kettle", "ledger"},
    "workbench": {"formulas"},
}


def kept_by(space: str) -> list[type[Model]]:
    rooms = NUMBERED_IN.get(space, {space})
    return [
        model
        for model in apps.get_models()
        if model._meta.app_label in rooms and not hasattr(model, "history_id")
    ]


def numbers_of(model: type[Model]) -> list[int]:
    keys = model._default_manager.values_list("pk", flat=True)
    return [key for key in keys if isinstance(key, int)]


def what_left_and_a_timer() -> None:
    batch = kettle.filled()
    act: Any = {"by": make.user(), "at": make.NOON}
    say_left(batch, ShedKind.FILM, Decimal("4.5"), **act, token=new_token())
    start_timer(batch, name="Melt the wax", minutes=20, **act, token=new_token())


def a_label_printed() -> None:
    owner = make.user()
    lot = labels.balm(identity="Hand salve")
    labels.sheet(lot.item.product)
    draft = versions.draft_from_lot(lot, "US", by=owner, at=make.NOON)
    versions.approve(draft, by=owner, at=make.NOON)
    versions.draft_from_lot(lot, "US", by=owner, at=make.NOON)
    log_print(lot, 2, by=owner, at=make.NOON)
    labels.party("EU")
    OwnSize.objects.create(name="Lid", width_mm=Decimal(60), height_mm=Decimal(30))


def a_soap_on_the_racks() -> None:
    soap = curing.soap(days_ago=8)
    Rack.objects.create(name="By the north window")
    curing.weighed(soap, "118")


def a_blend_of_known_status() -> None:
    owner = make.user()
    parts = [BlendComponent("Cera Alba", Decimal(100))]
    melt = goods_in.material("Melt", parts=parts)
    later = [BlendComponent("Cera Alba", Decimal(99)), BlendComponent("Tocopherol", Decimal(1))]
    blends.start_blend(melt.profile, later, from_day=make.DAY, by=owner, at=make.NOON)
    enter_known_rules(by=owner, at=make.NOON)
    goods_in.organic_status(melt, "water")
    limit = UseLimit(item=melt, most=Decimal(1), source="our own trials")
    save_use_limit(limit, by=owner, at=make.NOON)


def a_recall_of_what_was_sent() -> None:
    lot = dispatch.finished_lot()
    dispatch.sent((lot, 3), to=dispatch.customer("Quay Salon"))
    rooms.recall(lot)


ONLY_HERE = {
    "aftersales": a_recall_of_what_was_sent,
    "curing": a_soap_on_the_racks,
    "goods_in": lambda: goods_in.certificate(goods_in.supplier(), [goods_in.material()]),
    "kettle": what_left_and_a_timer,
    "labels": a_label_printed,
    "materials": a_blend_of_known_status,
}
# A file and a pack take more than a row; their own tests send them odd things.
NOT_IN_THIS_WORLD = {
    "core:file",
    "organic:pack",
    "organic:pack-file",
    "organic:pack-work",
    "transfer:take-back",
}


def world(space: str = "front") -> World:
    """One of everything that the book is about, and of what only this room keeps."""
    labels.workshop()
    costs.rates()
    ONLY_HERE.get(space, lambda: None)()
    planning.everything()
    batch = kettle.filled()
    kettle.poured()
    version = formulas.approved()
    draft = formulas.draft()
    line = goods_in.line()
    lot = packing.packed(units=40)
    packing.weighed(packing.run_of(lot), "60.2 60.4")
    run = packing.run()
    packing.weighed(run, "60.2 60.4")
    free = dispatch.finished_lot(made_on=make.DAY)
    sent = dispatch.sent((free, 5))
    there = dispatch.sent((free, 5), to=dispatch.customer("Tollen Baths"))
    confirm_delivery([there], arrived_on=make.DAY, by=make.user(), at=make.NOON)
    complaint, recall = rooms.complaint(free), rooms.recall(lot)
    shelf = counts.place()
    counts.put(shelf, lot)
    counts.counted(counts.a_round(place=shelf), lot, 40)
    client = Client()
    client.force_login(make.user(Role.OWNER), backend="django.contrib.auth.backends.ModelBackend")
    del batch, version, draft, line, sent, there, complaint, recall
    references = [
        *Operation.objects.order_by("pk").values_list("reference", flat=True),
        *Complaint.objects.values_list("reference", flat=True),
        *Recall.objects.values_list("reference", flat=True),
        *CountRound.objects.values_list("reference", flat=True),
        *PurchaseOrder.objects.order_by("-pk").values_list("number", flat=True),
    ]
    codes = [
        *Lot.objects.order_by("-pk").values_list("code", flat=True),
        *Item.objects.order_by("-pk").values_list("code", flat=True),
        *Place.objects.values_list("code", flat=True),
    ]
    numbers = sorted({pk for model in kept_by(space) for pk in numbers_of(model)}) or [1]
    small = [1, 2, 3]
    values: dict[str, list[Any]] = {
        "reference": references,
        "code": codes,
        "pk": numbers,
        "place": small,
        "market": ["US", "EU", "UK"],
        "key": ["awaiting", "stability"],
        "kind": ["json", "csv", "html"],
        "token": ["made-up"],
        "day": [make.DAY.isoformat()],
        "what": ["assess", "answer", "close", "note"],
        "figure": ["came_in", "used", "sent"],
        "section": ["lots", "customers", "back", "forward"],
    }
    return World(client, values)


def posted(space: str) -> Iterator[tuple[str, URLPattern]]:
    """The addresses of a room that take data."""
    for name, pattern in ALL:
        writers: frozenset[Role] = getattr(pattern.callback, "write_roles", frozenset())
        if name.startswith(f"{space}:") and name not in LEFT_OUT and Role.OWNER in writers:
            yield name, pattern


def fields_of(client: Client, address: str) -> tuple[set[str], set[str]]:
    """The names that a page and its refused form ask for, and those of files."""
    names: set[str] = set()
    files: set[str] = set()
    for ask in (client.get, client.post):
        with transaction.atomic():
            answer = ask(address)
            text = "" if answer.streaming else answer.content.decode(errors="replace")
            transaction.set_rollback(True)
        names |= set(NAME.findall(text))
        files |= set(FILE.findall(text))
    return names - {"q", "csrfmiddlewaretoken"}, files


def faults_at(client: Client, address: str, odd: dict[str, str]) -> Iterator[str]:
    """What went wrong with odd input, in words; nothing stays written."""
    names, files = fields_of(client, address)
    junk = {name: SimpleUploadedFile("a.pdf", b"%PDF-junk\x00") for name in files}
    tries: list[tuple[str, dict[str, Any]]] = [("no field at all", {})]
    tries += [(what, dict.fromkeys(names - files, value)) for what, value in odd.items()]
    tries.append(("a file that is none", dict.fromkeys(names - files, "1") | junk))
    for what, data in tries:
        fault = _fault(client, address, data | {"token": "a-token"} if data else data)
        if fault:
            yield f"{address} with {what}: {fault}"


def _fault(client: Client, address: str, data: dict[str, Any]) -> str:
    """Sent twice, as by a double press, where it may be taken for good."""
    with transaction.atomic():
        try:
            for _ in range(2 if "1" in data.values() else 1):
                answer = client.post(address, data)
                if answer.status_code >= 500:
                    return f"status {answer.status_code}"
        except Exception as error:
            return f"{type(error).__name__}: {error}"[:300]
        finally:
            transaction.set_rollback(True)
    return ""


THOROUGH = {"packing", "dispatch", "ledger", "front"}
SPACES = sorted({name.partition(":")[0] for name, _ in ALL})


@pytest.mark.django_db
@pytest.mark.parametrize("space", SPACES)
def test_no_odd_input_is_an_error_of_the_server(space: str) -> None:
    book = world(space)
    faults: list[str] = []
    unseen: list[str] = []
    for name, pattern in posted(space):
        address = book.find(name, pattern)
        if address is None:
            unseen.append(name)
            continue
        faults += faults_at(book.client, address, ODD | (ODDER if space in THOROUGH else {}))

    assert faults == []
    assert set(unseen) <= NOT_IN_THIS_WORLD


@pytest.mark.django_db
def test_no_address_takes_a_method_it_does_not_know() -> None:
    """It is refused before anything is looked for, so the first name of each kind will do."""
    book = world()
    for name, pattern in ALL:
        if name in LEFT_OUT:
            continue
        address = reverse(name, kwargs={key: book.values[key][0] for key in keys_of(pattern)})
        for method in ("PUT", "DELETE", "PATCH"):
            assert book.client.generic(method, address).status_code in (403, 405), name


@pytest.mark.django_db
def test_numbers_beyond_the_database_name_nothing() -> None:
    client = Client()
    client.force_login(make.user(Role.OWNER), backend="django.contrib.auth.backends.ModelBackend")
    for name, pattern in ALL:
        if keys_of(pattern) == ["pk"]:
            address = reverse(name, kwargs={"pk": 10**25})
            assert client.get(address).status_code in (404, 405), name
