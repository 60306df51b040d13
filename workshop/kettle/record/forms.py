"""Forms of what happens around the weighing: checks, the pour, and what is decided."""

from collections.abc import Iterable, Sequence
from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Div, Layout
from django import forms
from django.http import HttpRequest

from workshop.core.formatting import with_unit
from workshop.core.forms import ExactField, TokenField, helper, parts_helper
from workshop.core.web.passwords import ConfirmedForm
from workshop.formulas.models import Step
from workshop.kettle.models import Batch, BatchLine, CheckKind
from workshop.kettle.services.losses_from_batch import lots_of, strained_lots
from workshop.kettle.weighing.forms import MassField
from workshop.ledger.models import Item, ItemKind, ShedKind


class CheckForm(forms.Form):
    step = forms.ModelChoiceField(
        Step.objects.none(), required=False, empty_label="no step in particular"
    )
    kind = forms.ChoiceField(choices=CheckKind, label="What was checked")
    temperature_c = ExactField(label="Temperature, °C", places=1, required=False)
    minutes = ExactField(label="Minutes", places=1, least=0, required=False)
    note = forms.CharField(
        max_length=300,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="What a spoon test showed; where a sample is kept; what was done beyond a limit.",
    )
    token = TokenField()

    def __init__(self, *args: Any, batch: Batch, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["step"].queryset = batch.version.steps.all()  # type: ignore[attr-defined]
        self.helper = helper("Record the check")
        measures = Div("temperature_c", "minutes", css_class="row")
        self.helper.layout = Layout("step", "kind", measures, "note", "token")


class YieldPartForm(forms.Form):
    """One vessel of a pour: which bulk it holds, and how much."""

    item = forms.ModelChoiceField(Item.objects.none(), label="Bulk", required=False)
    measured_g = MassField(label="Measured yield", required=False, help_text="")

    def __init__(self, *args: Any, bulks: Iterable[Item], own: Item, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        item = self.fields["item"]
        item.queryset = bulks  # type: ignore[attr-defined]  # a choice of rows
        item.empty_label = own.name  # type: ignore[attr-defined]


PartSet = forms.formset_factory(YieldPartForm, extra=3, max_num=3, absolute_max=3)


def parts_of(batch: Batch, data: Any = None) -> Any:
    """The vessels of a pour; more than one when the melt is split, say scented and unscented."""
    own = batch.version.formula.item
    bulks = Item.objects.active().of_kind(ItemKind.BULK).exclude(pk=own.pk)
    return PartSet(data, prefix="part", form_kwargs={"bulks": bulks, "own": own})


class PourForm(forms.Form):
    """The remark of a pour, and a marc for each line that is still to be strained out."""

    note = forms.CharField(
        max_length=280,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Needed when a line is outside its tolerance: say why.",
    )
    token = TokenField()
    helper: FormHelper = parts_helper()

    def __init__(self, data: Any = None, *, batch: Batch) -> None:
        super().__init__(data)
        self.marcs = {f"marc-{line.pk}": line for line in to_strain(batch)}
        for name, line in self.marcs.items():
            self.fields[name] = MassField(
                label=f"Marc of {line.item}", required=False, help_text=_marc_help(line)
            )
        self.order_fields([*self.marcs, "note", "token"])

    @property
    def values(self) -> dict[str, Any]:
        """What the service takes."""
        typed = self.cleaned_data
        marcs = {line.pk: typed[name] for name, line in self.marcs.items()}
        return {"marcs": marcs, "note": typed["note"], "token": typed["token"]}


def to_strain(batch: Batch) -> list[BatchLine]:
    """The lines of a batch that are strained out and were not yet."""
    done = strained_lots(batch)
    lines = batch.lines.filter(formula_line__is_strained_out=True).with_taken()
    rows = lines.select_related("item", "formula_line")
    return [line for line in rows if line.taken_g and not set(lots_of(line)) <= done]


def _marc_help(line: BatchLine) -> str:
    assert line.formula_line is not None  # noqa: S101 -- only a line of the formula is strained out
    usual = with_unit(line.formula_line.marc_g(line.taken_g), "g")
    return (
        f"{with_unit(line.taken_g, 'g')} went in. Weigh what is strained out, with the oil in it. "
        f"Not weighed: {usual} is recorded, as an estimate by the formula."
    )


class LeftForm(forms.Form):
    """What left a batch without being poured."""

    kind = forms.ChoiceField(
        choices=[(one.value, one.label) for one in ShedKind if one != ShedKind.DRIED],
        label="How it left",
    )
    line = forms.ModelChoiceField(
        BatchLine.objects.none(), required=False, label="Which ingredient",
        empty_label="the mixture", help_text="Only for what is strained out.",
    )  # fmt: skip
    grams = MassField(
        label="How much", required=False,
        help_text="In grams, or with its unit. What the formula knows may be left empty: a marc, "
        "or what stays on the kettle.",
    )  # fmt: skip
    is_estimated = forms.BooleanField(label="Not weighed, estimated by eye", required=False)
    note = forms.CharField(max_length=300, required=False, label="Remark")
    token = TokenField()
    helper = helper("Record what left")

    def __init__(self, data: Any = None, *, batch: Batch) -> None:
        super().__init__(data)
        line: Any = self.fields["line"]
        keys = [one.pk for one in to_strain(batch)]
        line.queryset = batch.lines.filter(pk__in=keys).select_related("item", "formula_line")
        line.label_from_instance = lambda one: str(one.item)


class LeftBackForm(forms.Form):
    reason = forms.CharField(max_length=300, label="Why it is taken back")
    token = TokenField()
    helper = helper("Take it back")


class YieldForm(forms.Form):
    measured_g = MassField(label="The correct yield")
    reason = forms.CharField(max_length=300, label="Why it is corrected")
    token = TokenField()
    helper = helper("Correct the yield")


class BatchDecisionForm(forms.Form):
    """Hold, reject or stop, each with a reason."""

    reason = forms.CharField(max_length=300, label="Why")
    helper = helper("Record the decision")


class AmendBatchForm(ConfirmedForm):
    """Open a sealed record again: why, and the owner's password."""

    reason = forms.CharField(max_length=300, label="Why")
    helper = helper("Record the decision")
    field_order = ("reason", "password")


class ReleaseForm(ConfirmedForm):
    note = forms.CharField(
        max_length=300,
        required=False,
        label="Remark",
        help_text="Needed where it was on hold: say what was found.",
    )
    is_despite = forms.BooleanField(
        required=False,
        label="Release it despite what is missing",
        help_text="It stays with the lot permanently. Say why in the remark.",
    )
    helper = helper("Release the bulk")
    field_order = ("note", "is_despite", "password")

    def __init__(self, *args: Any, request: HttpRequest, lacks: Sequence[str], **kw: Any) -> None:
        super().__init__(*args, request=request, **kw)
        if not lacks:
            del self.fields["is_despite"]
