"""Forms of kettles and scales."""

from datetime import datetime
from typing import Any

from crispy_forms.layout import Div, Layout
from django import forms
from django.utils import timezone

from workshop.core.forms import DayField, ExactField, TokenField, helper
from workshop.core.saving.edit_conflicts import Watching
from workshop.kettle.models import Kettle, KettleMaterial, Scale
from workshop.kettle.weighing.forms import MassField


class CleaningForm(forms.Form):
    """What was done to a kettle between two batches, and when."""

    cleaned_on = DayField(label="On", initial=timezone.localdate)
    cleaned_time = forms.TimeField(
        label="At",
        widget=forms.TimeInput(format="%H:%M", attrs={"type": "time"}),
        error_messages={"invalid": "Write the time as 14:05."},
    )
    method = forms.CharField(
        label="What was done", max_length=200, help_text="Such as scraped, washed at 70 °C, dried."
    )
    agent = forms.CharField(label="With what", max_length=120)
    rinse = forms.CharField(
        label="Rinse or purge, and what became of it", max_length=200, required=False
    )
    checked_by = forms.CharField(label="Checked by", max_length=80, required=False)
    token = TokenField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["cleaned_time"].initial = timezone.localtime().time().replace(second=0)
        self.helper = helper("Record the cleaning")
        self.helper.layout = Layout(
            Div("cleaned_on", "cleaned_time", css_class="row"),
            Div("method", "agent", css_class="row"),
            Div("rinse", "checked_by", css_class="row"),
            "token",
        )

    def values(self) -> dict[str, Any]:
        values = dict(self.cleaned_data)
        moment = datetime.combine(values.pop("cleaned_on"), values.pop("cleaned_time"))
        return {**values, "cleaned_at": timezone.make_aware(moment)}


class KettleForm(Watching, forms.ModelForm[Kettle]):
    capacity_g = MassField(label="Holds")
    material = forms.ChoiceField(
        label="Made of",
        choices=[("", "choose"), *KettleMaterial.choices],
        help_text="What touches the melt. Lye eats aluminium, tin and zinc.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Save the kettle")
        if self.instance.pk:
            self.watch(self.instance.history.all())

    class Meta:
        model = Kettle
        fields = ["name", "material", "is_active"]
        labels = {"is_active": "in use"}

    field_order = ["name", "capacity_g", "material"]

    def clean_capacity_g(self) -> Any:
        self.instance.capacity_g = self.cleaned_data["capacity_g"]
        return self.instance.capacity_g


class ScaleForm(Watching, forms.ModelForm[Scale]):
    division_g = ExactField(
        label="Division d, g",
        places=3,
        least=0,
        most=1000,
        unit="g",
        help_text="The step it shows.",
    )
    interval_g = ExactField(
        label="Verification interval e, g",
        places=3,
        least=0,
        most=1000,
        unit="g",
        required=False,
        help_text="From its plate; empty when it is the same as the division.",
    )
    capacity_g = MassField(label="Takes at most")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Save the scale")
        if self.instance.pk:
            self.watch(self.instance.history.all())

    class Meta:
        model = Scale
        fields = ["name", "accuracy_class", "is_active"]
        labels = {"is_active": "in use"}

    field_order = ["name", "division_g", "interval_g", "capacity_g", "accuracy_class"]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        for name in ("division_g", "interval_g", "capacity_g"):
            value = data.get(name)
            if value is not None and value <= 0:
                self.add_error(name, "It must be above zero.")
            setattr(self.instance, name, value)
        self._validate_interval(data)
        return data

    def _validate_interval(self, data: dict[str, Any]) -> None:
        interval, division = data.get("interval_g"), data.get("division_g")
        capacity = data.get("capacity_g")
        if interval is None or division is None or capacity is None:
            return
        if not division <= interval <= capacity:
            self.add_error(
                "interval_g",
                "The verification interval e cannot be finer than the division d, nor more than"
                " the scale takes.",
            )
