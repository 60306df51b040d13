"""Forms of the formulas room: a bulk item, a formula, and a draft with its lines and steps."""

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from functools import partial
from typing import Any

from django import forms
from django.db.models import Q

from workshop.core.forms import ExactField, helper, parts_helper
from workshop.core.saving.edit_conflicts import Watching
from workshop.formulas.draft.validation import (
    MOST_HELD_BACK,
    WHOLE,
    WIDEST_TOLERANCE,
    LineIn,
    StepIn,
    shares_sentence,
)
from workshop.formulas.models import Formula, Line, Step, Version
from workshop.ledger.models import Item, ItemKind, Unit

BLANK_ROWS = {"lines": 3, "steps": 1}
MOST_ROWS = 100
Items = Mapping[str, Item]


class BulkForm(forms.Form):
    code = forms.CharField(
        max_length=20, help_text="Capital letters, digits, dots and hyphens, such as BULK-SALVE."
    )
    name = forms.CharField(max_length=120)
    is_active = forms.BooleanField(label="In use", required=False, initial=True)

    def __init__(self, data: Any = None, *, item: Item | None = None) -> None:
        super().__init__(data, initial=_figures(item, self.base_fields))
        self.helper = helper("Save the bulk item")

    def clean_code(self) -> str:
        return str(self.cleaned_data["code"]).upper()


class FormulaForm(forms.Form):
    name = forms.CharField(max_length=120)
    item = forms.ModelChoiceField(
        Item.objects.none(), label="Makes", help_text="The bulk item that comes out of the kettle."
    )
    is_active = forms.BooleanField(label="In use", required=False, initial=True)

    def __init__(self, data: Any = None, *, formula: Formula | None = None) -> None:
        super().__init__(data, initial=_figures(formula, self.base_fields))
        bulks = Item.objects.of_kind(ItemKind.BULK).filter(
            Q(is_active=True) | Q(pk=formula.item_id if formula else None)
        )
        choice = self.fields["item"]
        assert isinstance(choice, forms.ModelChoiceField)  # noqa: S101 -- for the type checker
        choice.queryset = bulks
        self.helper = helper("Save the formula")


def _figures(row: Any, fields: Mapping[str, Any]) -> dict[str, Any] | None:
    return {name: getattr(row, name) for name in fields} if row else None


class FormulaDraftForm(Watching, forms.Form):
    """The figures of the version as a whole."""

    expected_loss = ExactField(
        places=4, least=0, most=Decimal("99.9999"), unit="%", label="Expected loss, %"
    )
    shelf_life_months = forms.IntegerField(
        label="Shelf life, months", min_value=1, max_value=120, widget=forms.TextInput
    )
    cure_days = forms.IntegerField(
        label="Cure, days", min_value=0, max_value=3660, required=False, widget=forms.TextInput,
        help_text="Of a soap: from the pour until it may be released and packed.",
    )  # fmt: skip
    cure_loss = ExactField(
        places=4, least=0, most=Decimal("99.9999"), unit="%", required=False,
        label="Loss in the cure, %",
        help_text="What a bar is expected to lose; the fill of a bar is what is left.",
    )  # fmt: skip
    weekly_loss_most = ExactField(
        places=4, least=0, most=50, unit="%", required=False, label="Loss in a week at most, %",
        help_text="While it loses more it is not released. Common practice: 0.5 %.",
    )  # fmt: skip
    ph_least = ExactField(places=1, least=0, most=14, required=False, label="pH at least")
    ph_most = ExactField(
        places=1, least=0, most=14, required=False, label="pH at most",
        help_text="Of a 1 % solution; then no lot is released without it.",
    )  # fmt: skip
    free_alkali_most = ExactField(
        places=4, least=0, most=5, unit="%", required=False, label="Free alkali at most, %",
        help_text="As sodium hydroxide; IS 2888 has 0.05 %. Then no lot is released without it.",
    )  # fmt: skip
    rework_limit = ExactField(
        places=4, least=0, most=100, unit="%", label="Rework at most, %",
        help_text="How much of an earlier batch may go into a new one.",
    )  # fmt: skip
    claims_organic = forms.BooleanField(
        label="Sold as organic", required=False,
        help_text="Then only lots with a certificate that covers the day are offered.",
    )  # fmt: skip
    is_rinse_off = forms.BooleanField(
        label="Rinsed off after use", required=False,
        help_text="Soap and cleansers; the thresholds for allergens differ.",
    )  # fmt: skip
    note = forms.CharField(
        required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, data: Any, version: Version) -> None:
        super().__init__(data, initial=_figures(version, self.base_fields))
        self.helper = parts_helper()
        self.watch(version.history.all())

    def clean(self) -> None:
        low, high = self.cleaned_data.get("ph_least"), self.cleaned_data.get("ph_most")
        if low is not None and high is not None and high < low:
            self.add_error("ph_most", "It is below the minimum.")
        for name in ("weekly_loss_most", "free_alkali_most"):
            if self.cleaned_data.get(name) == 0:
                self.add_error(name, "It must be above 0 %, or left empty.")


class FormulaLineForm(forms.Form):
    order = forms.IntegerField(
        required=False,
        min_value=1,
        max_value=9999,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    phase = forms.CharField(max_length=20, initial="A")
    item = forms.TypedChoiceField(
        label="Ingredient", error_messages={"required": "Choose the ingredient."}
    )
    share = ExactField(places=4, most=WHOLE, unit="%", label="Share, %")
    tolerance = ExactField(
        places=4, most=WIDEST_TOLERANCE, unit="%", label="Tolerance, %", initial="2"
    )
    is_irreversible = forms.BooleanField(
        label="Cannot be removed once added",
        required=False,
        widget=forms.CheckboxInput(attrs={"class": "form-check-input"}),
    )
    is_strained_out = forms.BooleanField(
        label="Strained out again",
        required=False,
        widget=forms.CheckboxInput(attrs={"class": "form-check-input"}),
    )
    stays = forms.CharField(
        label="What stays, by its INCI name", max_length=200, required=False,
        help_text="Such as Calendula Officinalis Flower Extract.",
    )  # fmt: skip
    held_back = ExactField(
        places=4, most=MOST_HELD_BACK, least=0, unit="%", required=False,
        label="Oil held back by the marc, % of the plant's weight",
    )  # fmt: skip
    substitutes = forms.TypedMultipleChoiceField(label="Allowed substitutes", required=False)

    def __init__(self, *args: Any, items: Items, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        # One list of items for all rows: a model choice would ask the database in each of them.
        named = [(key, f"{item.name} ({item.code})") for key, item in items.items()]
        for name, choices in (("item", [("", "choose"), *named]), ("substitutes", named)):
            field: Any = self.fields[name]
            field.coerce, field.choices = partial(_one_of, items), choices

    def straining(self) -> list[Any]:
        return [self["is_strained_out"], self["stays"], self["held_back"]]

    def clean_held_back(self) -> Decimal:
        return Decimal(self.cleaned_data["held_back"] or 0)

    def clean(self) -> None:
        typed = self.cleaned_data
        said = typed.get("stays") or typed.get("held_back")
        if typed.get("is_strained_out") and not typed.get("stays"):
            self.add_error("stays", "Say what stays of it, by its INCI name.")
        elif said and not typed.get("is_strained_out"):
            self.add_error("is_strained_out", "Tick this, or leave the other two empty.")

    def clean_share(self) -> Decimal:
        return _above_zero(self.cleaned_data["share"])

    def clean_tolerance(self) -> Decimal:
        return _above_zero(self.cleaned_data["tolerance"])


def _one_of(items: Items, key: str) -> Item:
    if key not in items:
        raise ValueError(f"{key} is not one of the choices.")
    return items[key]


def _above_zero(figure: Decimal) -> Decimal:
    if figure <= 0:
        raise forms.ValidationError("It must be above 0 %.")
    return figure


class StepForm(forms.Form):
    text = forms.CharField(
        label="What to do",
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"required": "Say what to do, or remove the step."},
    )
    phase = forms.CharField(max_length=20, required=False)
    from_c = ExactField(places=1, least=-40, most=300, unit="°C", label="From, °C", required=False)
    to_c = ExactField(places=1, least=-40, most=300, unit="°C", label="To, °C", required=False)
    minutes = forms.IntegerField(
        required=False,
        min_value=0,
        max_value=9999,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    keep_water_out = forms.BooleanField(required=False)
    caution = forms.CharField(max_length=300, required=False)

    def clean(self) -> None:
        low, high = self.cleaned_data.get("from_c"), self.cleaned_data.get("to_c")
        if low is not None and high is not None and high < low:
            self.add_error("to_c", "It is below the lower temperature.")


BEGINS = {
    which: {name: field.initial for name, field in form.base_fields.items() if field.initial}
    for which, form in (("lines", FormulaLineForm), ("steps", StepForm))
}


class Rows(forms.BaseFormSet[Any]):
    """Rows that may be left blank or ticked to be removed."""

    def add_fields(self, form: Any, index: int | None) -> None:
        super().add_fields(form, index)
        form.fields["DELETE"].label = "Remove"
        form.fields["DELETE"].widget.attrs["class"] = "form-check-input"

    @property
    def kept(self) -> list[dict[str, Any]]:
        return [
            {name: value for name, value in form.cleaned_data.items() if name != "DELETE"}
            for form in self.forms
            if form.cleaned_data and form not in self.deleted_forms
        ]


class LineRows(Rows):
    def clean(self) -> None:
        """Name the row that repeats an ingredient."""
        seen = set()
        for form in self.forms:
            item = form.cleaned_data.get("item")
            if not item or form in self.deleted_forms:
                continue
            if item in seen:
                form.add_error("item", f"{item} stands in the formula twice; put it in one line.")
            if item in form.cleaned_data.get("substitutes", ()):
                form.add_error("substitutes", f"{item} cannot be a substitute for itself.")
            seen.add(item)

    @property
    def total(self) -> Decimal:
        """What the shares that can be read add up to, as typed or as kept."""
        return sum(map(_share_of, self.forms), Decimal(0))

    @property
    def shares_sentence(self) -> str:
        return shares_sentence([self.total]) or "The shares add up to exactly 100 %."


def _share_of(form: forms.Form) -> Decimal:
    if not form.is_bound:
        return Decimal(form.initial.get("share", 0))
    if form.data.get(form.add_prefix("DELETE")):
        return Decimal(0)
    return Decimal(getattr(form, "cleaned_data", {}).get("share") or 0)


class Draft:
    """The whole editor: figures, lines and steps of a version, loaded in full, on one page."""

    def __init__(self, version: Version, data: Any = None) -> None:
        self.version = version
        lines = list(version.lines.all())
        self.head = FormulaDraftForm(data, version)
        rows = {"data": data, "prefix": "lines", "initial": [_line_typed(line) for line in lines]}
        self.lines = _rows(FormulaLineForm, LineRows, "lines")(
            **rows, form_kwargs={"items": _choices(version, lines)}
        )
        steps = [_step_typed(step) for step in version.steps.all()]
        self.steps = _rows(StepForm, Rows, "steps")(data, prefix="steps", initial=steps)

    def is_valid(self) -> bool:
        return all(part.is_valid() for part in (self.head, self.lines, self.steps))

    @property
    def values(self) -> dict[str, Any]:
        """What `services.save_draft` takes."""
        lines = [LineIn(**row) for row in self.lines.kept]
        return {
            **self.head.cleaned_data,
            "lines": lines,
            "steps": [StepIn(**row) for row in self.steps.kept],
        }


def _rows(form: type[forms.Form], rows: type[Rows], which: str) -> Callable[..., Any]:
    return forms.formset_factory(
        form,
        rows,
        extra=BLANK_ROWS[which],
        can_delete=True,
        max_num=MOST_ROWS,
        absolute_max=MOST_ROWS,
    )


def _choices(version: Version, lines: Sequence[Line]) -> dict[str, Item]:
    """What may go into the kettle, and what the draft has already even if out of use."""
    had = {line.item_id for line in lines}
    had |= {item.pk for line in lines for item in line.substitutes.all()}
    items = (
        Item.objects.of_kind(ItemKind.MATERIAL, ItemKind.BULK)
        .filter(Q(is_active=True) | Q(pk__in=had), unit=Unit.GRAM)
        .exclude(pk=version.formula.item_id)
    )
    return {str(item.pk): item for item in items}


def _line_typed(line: Line) -> dict[str, Any]:
    return {
        "order": line.order,
        "phase": line.phase,
        "item": str(line.item_id),
        "share": line.share,
        "tolerance": line.tolerance,
        "is_irreversible": line.is_irreversible,
        "is_strained_out": line.is_strained_out,
        "stays": line.stays,
        "held_back": line.held_back or None,
        "substitutes": [str(item.pk) for item in line.substitutes.all()],
    }


def _step_typed(step: Step) -> dict[str, Any]:
    names = ("text", "phase", "from_c", "to_c", "minutes", "keep_water_out", "caution")
    return {name: getattr(step, name) for name in names}


def with_more_rows(data: Any, which: str) -> Any:
    """What was typed, with room for some more lines or steps, which begin as new ones do."""
    more = data.copy()
    key = f"{which}-TOTAL_FORMS"
    if which in BLANK_ROWS and more.get(key, "").isdecimal():
        had = int(more[key][:4])
        total = min(had + BLANK_ROWS[which], MOST_ROWS)
        more[key] = str(total)
        for place in range(had, total):
            for name, begins in BEGINS[which].items():
                more.setdefault(f"{which}-{place}-{name}", begins)
    return more
