"""The form of the workbench: a row for each line, and what stands beside the lines."""

from collections import Counter
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.db.models import Q

from workshop.core.errors import ActionRefused
from workshop.core.formatting import number
from workshop.core.forms import ExactField, TokenField, parts_helper
from workshop.formulas.models import Line, Version
from workshop.ledger.models import Item, ItemKind, Lot, Status, Unit
from workshop.packing.models import Product
from workshop.rules.errors import RuleError
from workshop.rules.quantities.rest_after_change import with_the_rest
from workshop.workbench.quick_widgets import QuickHidden, QuickSelect, QuickText
from workshop.workbench.trial import TriedLine

MOST_ROWS = 60
THE_REST = "The rest follows, in proportion"
MOST_G = Decimal(10_000_000)


def item_text(item: Item) -> str:
    """A material by its name and its code."""
    return f"{item.name} ({item.code})"


class Materials:
    """What may be tried, found by what was typed: its name, its code, or both."""

    def __init__(self, version: Version) -> None:
        lines = {line.item_id for line in version.lines.all()}
        self.items = list(
            Item.objects.of_kind(ItemKind.MATERIAL, ItemKind.BULK)
            .filter(Q(is_active=True) | Q(pk__in=lines), unit=Unit.GRAM)
            .exclude(pk=version.formula.item_id)
            .select_related("profile")
        )
        names = Counter(item.name.casefold() for item in self.items)
        self.alone = {name for name, times in names.items() if times == 1}
        self.by_text: dict[str, Item] = {}
        for item in self.items:
            for text in (item.name, item.code, item_text(item)):
                self.by_text.setdefault(text.casefold(), item)

    def text(self, item: Item) -> str:
        """A material as it is chosen: its name, with its code where two have one name."""
        return item.name if item.name.casefold() in self.alone else item_text(item)

    def find(self, text: str) -> Item:
        found = self.by_text.get(" ".join(text.split()).casefold())
        if found is None:
            raise forms.ValidationError(
                f"“{text}” is not in the book. Choose from the list, or enter it under Materials."
            )
        return found


class RowForm(forms.Form):
    """One line as tried; without a material it is no line."""

    item = forms.CharField(
        label="Material",
        required=False,
        max_length=200,
        widget=QuickText(attrs={"list": "materials", "autocomplete": "off"}),
    )
    share = ExactField(places=4, least=0, most=100, unit="%", label="Share, %", required=False)
    was = ExactField(places=4, least=0, most=100, required=False, widget=QuickHidden)
    lot = forms.IntegerField(label="Lot", required=False, widget=QuickSelect)
    like = forms.IntegerField(required=False, widget=QuickHidden)

    def __init__(self, *args: Any, materials: Materials, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.materials = materials

    def clean_item(self) -> Item | None:
        text = self.cleaned_data["item"].strip()
        return self.materials.find(text) if text else None

    def clean(self) -> None:
        typed = self.cleaned_data
        if "item" in typed and typed["item"] is None and typed.get("share") and not typed["was"]:
            self.add_error("item", "Say which material this share is of.")


class HeadForm(forms.Form):
    """How much is made and filled, and how long it takes."""

    product = forms.TypedChoiceField(required=False, label="Packed as", empty_value=None)
    fill_g = ExactField(
        places=3, least=Decimal("0.1"), most=MOST_G, unit="g", required=False, label="Fill, g"
    )
    batch_g = ExactField(places=3, least=1, most=MOST_G, unit="g", label="Batch, g")
    batch_minutes = forms.IntegerField(
        label="Minutes at the kettle", required=False, min_value=0, max_value=100_000,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )  # fmt: skip
    run_minutes = forms.IntegerField(
        label="Minutes of packing", required=False, min_value=0, max_value=100_000,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )  # fmt: skip
    gives_way = forms.IntegerField(label="What gives way", required=False, widget=QuickSelect)
    was_product = forms.IntegerField(required=False, widget=forms.HiddenInput)
    token = TokenField()

    def __init__(
        self,
        *args: Any,
        products: Sequence[Product],
        lines: Sequence[TriedLine],
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        self.fields["gives_way"].widget.choices = line_choices(lines)
        choice: Any = self.fields["product"]
        choice.choices = [(one.pk, str(one)) for one in products]
        choice.coerce = {str(one.pk): one for one in products}.__getitem__
        if not products:
            del self.fields["product"], self.fields["fill_g"], self.fields["run_minutes"]
        self.helper = parts_helper()


Rows = forms.formset_factory(
    RowForm, extra=0, max_num=MOST_ROWS, absolute_max=MOST_ROWS, validate_max=True
)


def tried_lines(rows: Any, likes: Mapping[int, Line], gives_way: int | None) -> list[TriedLine]:
    """The lines once what was changed is changed and the rest has followed.

    `gives_way` is the key of the material that takes up the difference alone.
    Raises ActionRefused for shares that cannot be, and a material that stands there twice.
    """
    typed = [row for row in (form.cleaned_data for form in rows) if row.get("item") or row["was"]]
    was = [row["was"] or Decimal(0) for row in typed]
    changed = {}
    for place, row in enumerate(typed):
        share = Decimal(0) if row["item"] is None else row["share"] or Decimal(0)
        if share != was[place]:
            changed[place] = share
    place_of = {row["item"].pk: place for place, row in enumerate(typed) if row["item"]}
    try:
        shares = with_the_rest(was, changed, place_of.get(gives_way or 0)) if changed else was
    except RuleError as error:
        raise ActionRefused(str(error)) from error
    lines = [
        TriedLine(row["item"], share, row["lot"], likes.get(row["like"]))
        for row, share in zip(typed, shares, strict=True)
        if row["item"] is not None
    ]
    items = [line.item for line in lines]
    twice = next((item for item in items if items.count(item) > 1), None)
    if twice is not None:
        raise ActionRefused(f"{twice} stands there twice; put it in one line.")
    return lines


def row_values(line: TriedLine, materials: Materials) -> dict[str, Any]:
    """A line as its row shows it."""
    share = number(line.share, least=2, most=4)
    return {
        "item": materials.text(line.item),
        "share": share,
        "was": share,
        "lot": line.lot,
        "like": line.like.pk if line.like else None,
    }


def line_choices(lines: Sequence[TriedLine]) -> list[tuple[str, str]]:
    """What may take up the difference when a share is changed."""
    named = [(str(line.item.pk), f"{line.item} alone gives way") for line in lines]
    return [("", THE_REST), *named]


def lot_choices(
    lots: Sequence[Lot], usable: Sequence[Lot], following: Sequence[Lot]
) -> list[tuple[str, str]]:
    """What comes next, and each lot by its code; one that may not be weighed says so."""
    good = {lot.pk for lot in usable}
    by_itself = f"next: {' and '.join(map(str, following))}" if following else "as it is bought"
    named = [(str(lot.pk), str(lot) if lot.pk in good else _not_usable(lot)) for lot in lots]
    return [("", by_itself), *named]


def _not_usable(lot: Lot) -> str:
    if lot.status != Status.RELEASED:
        return f"{lot}, {lot.get_status_display()}"
    return f"{lot}, not to be weighed"
