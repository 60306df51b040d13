"""The most of a material that what touches the skin may hold."""

from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from workshop.core.fields import PercentField
from workshop.ledger.models import Item


class UseLimit(models.Model):
    """The most of a material that a melt may hold, by its safety assessment or certificate."""

    item = models.OneToOneField(Item, on_delete=models.PROTECT, related_name="use_limit")
    most = PercentField()
    source = models.CharField(max_length=200)

    history = HistoricalRecords()

    class Meta:
        ordering = ["item__name"]
        constraints = [
            models.CheckConstraint(
                name="use_limit_is_a_share",
                condition=Q(most__gt=0, most__lte=100),
                violation_error_message="A limit lies above 0 and at most at 100 %%.",
            ),
            models.CheckConstraint(
                name="use_limit_names_its_source",
                condition=~Q(source=""),
                violation_error_message="Say where the limit comes from.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item}, at most {self.most} %"
