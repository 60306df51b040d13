"""What a balance is asked for: two days, which lots, and what was known when."""

from datetime import timedelta
from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Div, Layout, Submit
from django import forms
from django.utils import timezone

from workshop.core.forms import DayField
from workshop.materials.ingredients import scheme_choices
from workshop.materials.models import LABEL_SCHEME
from workshop.organic.balance.overview import GROUPS
from workshop.organic.balance.query import Period

YEAR = timedelta(days=364)
LOTS = {"": None, "organic": True, "other": False}


class PeriodForm(forms.Form):
    """Two days; without them, the year that ends today."""

    first = DayField(label="From", required=False)
    last = DayField(label="To", required=False)

    def __init__(self, data: Any, **kwargs: Any) -> None:
        today = timezone.localdate()
        sent = {name: value for name, value in data.items() if value}
        filled = {"last": f"{today}", "first": f"{today - YEAR}"} | sent
        super().__init__(filled, **kwargs)
        self.helper = FormHelper()
        self.helper.form_method = "get"
        self.helper.disable_csrf = True
        self.helper.layout = Layout(Div(*self.fields, css_class="row"))
        self.helper.add_input(Submit("", "Show"))

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        first, last = values.get("first"), values.get("last")
        if first and last and first > last:
            self.add_error("last", "The period ends before it begins.")
        for name, day in (("first", first), ("last", last)):
            if day and not 1990 <= day.year <= 2190:
                self.add_error(name, "Check the year.")
        return values

    @property
    def period(self) -> Period:
        return Period(self.cleaned_data["first"], self.cleaned_data["last"])

    @property
    def query(self) -> str:
        """The same question for another address."""
        return "&".join(f"{name}={self.data.get(name, '')}" for name in self.fields)


class SchemeForm(PeriodForm):
    scheme_code = forms.ChoiceField(label="Under", required=False)
    field_order = ("first", "last", "scheme_code")

    def __init__(self, data: Any, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        self.fields["scheme_code"].choices = scheme_choices()  # type: ignore[attr-defined]

    @property
    def scheme(self) -> str:
        return self.cleaned_data["scheme_code"] or LABEL_SCHEME


class KnownForm(PeriodForm):
    known = forms.ChoiceField(
        label="As known",
        required=False,
        choices=[("", "today, corrections included"), ("then", "on the last day")],
    )

    @property
    def as_known_today(self) -> bool:
        return str(self.cleaned_data["known"]) != "then"


class OverviewForm(KnownForm):
    group = forms.ChoiceField(label="Of", required=False, choices=list(GROUPS.items()))

    @property
    def group_asked(self) -> str:
        return self.cleaned_data["group"] or "organic"


class BalanceForm(KnownForm):
    lots = forms.ChoiceField(
        label="Lots",
        required=False,
        choices=[("", "all"), ("organic", "organic only"), ("other", "not organic only")],
    )

    @property
    def asked(self) -> dict[str, Any]:
        return {
            "is_organic": LOTS[self.cleaned_data["lots"]],
            "as_known_today": self.as_known_today,
        }
