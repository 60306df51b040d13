"""The state of the book's proof: how much is in it, and which certificates run out."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import Exists, F, OuterRef, QuerySet

from workshop import __version__
from workshop.goods_in.models import Certificate
from workshop.ledger.models import Amendment, Lot, Operation, Posting, Seal
from workshop.ledger.proof.chain_head import Head

LAPSING_DAYS = 60


@dataclass(frozen=True)
class ProofState:
    """How many rows the book has, the last link of its chain, and what reads it."""

    operations: int
    still_open: int
    lots: int
    postings: int
    amendments: int
    seals: int
    last_seal: Seal | None
    head: Head | None
    version: str = __version__


def state() -> ProofState:
    last = Seal.objects.select_related("operation", "by").last()
    return ProofState(
        operations=Operation.objects.count(),
        still_open=Operation.objects.filter(closed_at=None).count(),
        lots=Lot.objects.count(),
        postings=Posting.objects.count(),
        amendments=Amendment.objects.count(),
        seals=Seal.objects.count(),
        last_seal=last,
        head=Head(last.number, last.digest) if last else None,
    )


def certificates_running_out(today: date) -> QuerySet[Any]:
    """Certificates that have lapsed or lapse within 60 days, with no later one in their place.

    A later one of the same supplier and certifier counts as its renewal; which items that one
    covers is asked at each receipt.
    """
    renewal = Certificate.objects.filter(
        supplier=OuterRef("supplier"),
        certifier=OuterRef("certifier"),
        valid_to__gt=OuterRef("valid_to"),
    )
    return (
        Certificate.objects.lapsing_by(today + timedelta(days=LAPSING_DAYS))
        .filter(~Exists(renewal), supplier__is_active=True)
        .select_related("supplier")
        .with_state(today)
        .order_by(F("valid_to"), "pk")
    )
