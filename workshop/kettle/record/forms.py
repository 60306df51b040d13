"""Forms of what happens around the weighing: checks, the pour, and what is decided."""

from collections.abc import Iterable
from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Div, Layout
from django import forms

from workshop.core.forms import ExactField, TokenField, helper, parts_helper
from workshop.core.web.passwords import ConfirmedForm
from workshop.formulas.models import Step
from workshop.kettle.models import Batch, CheckKind
from workshop.kettle.weighing.forms import MassField
from workshop.ledger.models import Item, ItemKind


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
    note = forms.CharField(
        max_length=280,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Needed when a line is outside its tolerance: say why.",
    )
    token = TokenField()
    helper: FormHelper = parts_helper()


class YieldForm(forms.Form):
    measured_g = MassField(label="The right yield")
    reason = forms.CharField(max_length=300, label="Why it is mended")
    token = TokenField()
    helper = helper("Mend the yield")


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
    helper = helper("Release the bulk")
    field_order = ("note", "password")
