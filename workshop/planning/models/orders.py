"""Orders that customers gave and orders given to suppliers; what moved is in the ledger."""

from typing import Self

from django.db import models
from django.db.models import Max, Q

from workshop.core.fields import QuantityField
from workshop.costs.models import Entry
from workshop.dispatch.models import Customer
from workshop.goods_in.models import Supplier
from workshop.ledger.models import Item, ItemKind


class CustomerOrderQuerySet(models.QuerySet["CustomerOrder"]):
    def latest_of_each(self) -> Self:
        """Of each number the row that counts: the one entered last."""
        last = self.model.objects.order_by().values("number").annotate(last=Max("pk"))
        return self.filter(pk__in=last.values("last"))


class CustomerOrder(Entry):
    """What a customer ordered, under the number on their papers. Entered again, it is replaced."""

    number = models.CharField(max_length=60)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="orders")
    ordered_on = models.DateField()
    due_on = models.DateField()
    is_cancelled = models.BooleanField(default=False)

    objects = CustomerOrderQuerySet.as_manager()

    class Meta(Entry.Meta):
        indexes = [models.Index(fields=["number"], name="customer_order_number")]
        constraints = [
            models.CheckConstraint(name="customer_order_has_a_number", condition=~Q(number=""))
        ]

    def __str__(self) -> str:
        return self.number


class CustomerOrderLine(models.Model):
    """So many units of one product."""

    order = models.ForeignKey(CustomerOrder, on_delete=models.PROTECT, related_name="lines")
    item = models.ForeignKey(
        Item,
        on_delete=models.PROTECT,
        related_name="+",
        limit_choices_to={"kind": ItemKind.PRODUCT},
    )
    units = models.PositiveIntegerField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["order", "item"], name="customer_order_item_once"),
            models.CheckConstraint(name="customer_order_units", condition=Q(units__gt=0)),
        ]

    def __str__(self) -> str:
        return f"{self.units} {self.item}"


class PurchaseOrder(Entry):
    """An order that was written to a supplier."""

    number = models.CharField(max_length=20, unique=True)
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="orders")
    ordered_on = models.DateField()
    expected_on = models.DateField()
    note = models.CharField(max_length=300, blank=True)

    class Meta(Entry.Meta):
        constraints = [
            models.CheckConstraint(
                name="purchase_comes_after_it_is_ordered",
                condition=Q(expected_on__gte=models.F("ordered_on")),
                violation_error_message="It cannot come before it is ordered.",
            )
        ]

    def __str__(self) -> str:
        return self.number


class PurchaseLine(models.Model):
    """So much of one material or packaging."""

    order = models.ForeignKey(PurchaseOrder, on_delete=models.PROTECT, related_name="lines")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    quantity = QuantityField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["order", "item"], name="purchase_item_once"),
            models.CheckConstraint(name="purchase_quantity", condition=Q(quantity__gt=0)),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} {self.item}"


class PurchaseStop(Entry):
    """Nothing more comes of an order, and why."""

    order = models.OneToOneField(PurchaseOrder, on_delete=models.PROTECT, related_name="stopped")
    reason = models.CharField(max_length=300)

    class Meta(Entry.Meta):
        constraints = [
            models.CheckConstraint(
                name="purchase_stop_says_why",
                condition=~Q(reason=""),
                violation_error_message="Say why nothing more comes.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.order} ended"
