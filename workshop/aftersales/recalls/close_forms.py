"""The form that closes a recall or stops the clock of a drill: what is on every shelf."""

import re
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms

from workshop.aftersales.complaints.forms import words_field
from workshop.aftersales.models import Recall, RecallLine
from workshop.aftersales.services.recall_shelves import LONGEST_MARK
from workshop.core.formatting import counted
from workshop.core.forms import TokenField, helper
from workshop.goods_in.named_items import read_quantity
from workshop.ledger.models import Item, Placing
from workshop.ledger.stock_queries import places_of
from workshop.rules.errors import RuleError

# As the pages themselves set figures apart, though with the space that a keyboard has.
IN_THREES = re.compile(r"[0-9]{1,3}(?: [0-9]{3})+(?![0-9/])")


class FoundField(forms.CharField):
    """A quantity as people write it, nothing included; it comes out in the unit of the item."""

    def __init__(self, item: Item, **kwargs: Any) -> None:
        self.item = item
        kwargs.setdefault("max_length", 60)
        kwargs.setdefault("widget", forms.TextInput(attrs={"autocomplete": "off"}))
        super().__init__(required=False, **kwargs)

    def clean(self, value: Any) -> Decimal | None:
        text = super().clean(value)
        if not text:
            return None
        plain = IN_THREES.sub(lambda match: match[0].replace(" ", ""), text)
        try:
            return read_quantity(self.item, plain, allow_zero=True)
        except RuleError as error:
            raise forms.ValidationError(str(error)) from error


class CloseRecallForm(forms.Form):
    """The cause, and how much of each lot was found on its shelf; fields are named by lot."""

    cause = words_field("The cause, and what is done so that it does not happen again")
    sure = forms.CharField(required=False, max_length=LONGEST_MARK, widget=forms.HiddenInput)
    token = TokenField()

    def __init__(self, *args: Any, recall: Recall, lines: Iterable[RecallLine], **kwargs: Any):
        super().__init__(*args, **kwargs)
        if recall.is_drill:
            del self.fields["cause"]
        by_name = {f"found_{line.lot.pk}": line for line in lines}
        # What was counted stays, also where the last of a lot left the book in the meantime.
        self.line_of = {
            name: line for name, line in by_name.items() if line.on_hand > 0 or name in self.data
        }
        where = places_of([line.lot.pk for line in self.line_of.values()])
        for name, line in self.line_of.items():
            self.fields[name] = _found_field(line, where.get(line.lot.pk))
        self.order_fields([*self.line_of, "cause"])
        ends = "Stop the clock" if recall.is_drill else "Close the recall"
        self.helper = helper(ends)
        # The page's script keeps under this name what was typed, until it is closed.
        self.helper.attrs = {"data-kept": recall.reference}

    @property
    def found(self) -> dict[int, Decimal]:
        return {
            line.lot.pk: self.cleaned_data[name]
            for name, line in self.line_of.items()
            if self.cleaned_data[name] is not None
        }


def _found_field(line: RecallLine, where: Placing | None) -> FoundField:
    item = line.lot.item
    return FoundField(
        item,
        label=f"Found of {line.lot}, {item}, in {item.get_unit_display()}",
        help_text=f"{_where_said(where)} The book says {counted(line.on_hand, item.unit)}."
        " Leave it empty if nobody looked.",
    )


def _where_said(where: Placing | None) -> str:
    return f"It lies at: {where}." if where else "No place of it is in the book."
