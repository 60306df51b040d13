"""Where lots are: places with a code to scan, and every move of a lot to one of them."""

from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import Max, Q
from simple_history.models import HistoricalRecords

from workshop.ledger.models.ledger import Lot


class PlaceKind(models.TextChoices):
    SHELF = "shelf", "shelf"
    CUPBOARD = "cupboard", "cupboard"
    RACK = "rack", "rack for curing"
    COLD = "cold", "refrigerator"
    FREEZER = "freezer", "freezer"
    FLOOR = "floor", "on the floor"


class Place(models.Model):
    """A shelf, a cupboard, a rack: somewhere that lots are put and found again."""

    name = models.CharField(
        max_length=60,
        unique=True,
        error_messages={"unique": "There is already a place of this name."},
    )
    code = models.CharField(max_length=6, unique=True, editable=False)
    kind = models.CharField(max_length=8, choices=PlaceKind)
    is_active = models.BooleanField("in use", default=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                name="place_kind_is_known", condition=Q(kind__in=PlaceKind.values)
            ),
            models.CheckConstraint(name="place_has_a_code", condition=~Q(code="")),
        ]

    def __str__(self) -> str:
        return self.name


class PlacingQuerySet(models.QuerySet["Placing"]):
    def of_now(self) -> Self:
        """Where each lot is now: the row written last of each."""
        last = self.model.objects.order_by().values("lot").annotate(last=Max("pk"))
        return self.filter(pk__in=last.values("last"))


class Placing(models.Model):
    """A lot was put somewhere. Rows are added only; the last of a lot says where it is.

    `spot` is where exactly, as a person says it: trays 3 and 4, behind the drum.
    """

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="placings")
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="placings")
    spot = models.CharField(max_length=40, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    token = models.CharField(max_length=64, unique=True)

    objects = PlacingQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [models.CheckConstraint(name="placing_has_a_token", condition=~Q(token=""))]

    def __str__(self) -> str:
        return f"{self.place}, {self.spot}" if self.spot else str(self.place)
