"""What is to be counted: by its class, or because the book is below zero."""

from datetime import date, datetime, time, timedelta

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.utils import timezone

from workshop.counts.models import AbcClass, Classing, Count, CountLine, ItemClass
from workshop.ledger.models import Lot, LotCount
from workshop.rules.stock.abc_classes import COUNT_RULES


def due_lots(today: date) -> QuerySet[Lot]:
    """Lots in stock that nobody counted for longer than their class allows, the oldest first.

    Coming in and being made count as counted. What a round asks for already is left out.
    """
    in_a_round = CountLine.objects.filter(lot=OuterRef("pk"), round__end=None)
    late = Q()
    for name, rule in COUNT_RULES.items():
        late |= _of_class(name) & _not_counted_since(today - timedelta(days=rule.days))
    lots: QuerySet[Lot] = Lot.objects.in_stock().filter(late).exclude(Exists(in_a_round))
    return lots.select_related("item").order_by("made_on", "pk")


def _of_class(name: str) -> Q:
    rows = ItemClass.objects.filter(classing=Classing.objects.last(), item=OuterRef("item"))
    if name == AbcClass.C:
        return ~Q(Exists(rows.exclude(abc_class=AbcClass.C)))
    return Q(Exists(rows.filter(abc_class=name)))


def _not_counted_since(day: date) -> Q:
    """Neither counted nor come in after that day."""
    after = timezone.make_aware(datetime.combine(day + timedelta(days=1), time()))
    in_rounds = Count.objects.filter(line__lot=OuterRef("pk"), counted_at__gte=after)
    alone = LotCount.objects.filter(lot=OuterRef("pk"), counted_at__gte=after)
    return Q(made_on__lte=day) & ~Q(Exists(in_rounds)) & ~Q(Exists(alone))
