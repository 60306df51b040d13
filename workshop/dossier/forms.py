"""Forms of product files: an entry under a heading, the sales of three years."""

from typing import Any

from django import forms
from django.utils import timezone

from workshop.core.forms import DayField, DocumentField, TokenField, helper
from workshop.dossier.models import YearOfSales
from workshop.rules.product_file.small_business import EXCLUDED, YEARS


class EntryForm(forms.Form):
    """What stands under one heading."""

    token = TokenField()
    text = forms.CharField(
        label="Entry",
        max_length=20_000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 8}),
    )
    dated = DayField(label="Its date", required=False)
    document = DocumentField(required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Add it to the file")


class SalesForm(forms.Form):
    """The US sales of cosmetics of the three years before, and what is made."""

    makes = forms.MultipleChoiceField(
        label="Do you make any of these?",
        choices=[(key, f"{text[0].upper()}{text[1:]}") for key, text in EXCLUDED.items()],
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        this = timezone.localdate().year
        self.years = [this - back for back in range(1, YEARS + 1)]
        known = dict(YearOfSales.objects.filter(year__in=self.years).values_list("year", "usd"))
        for year in self.years:
            self.fields[f"sales_{year}"] = forms.IntegerField(
                label=f"US sales of cosmetics in {year}, US dollars",
                min_value=0,
                max_value=10**12,
                initial=known.get(year),
                help_text="Gross; true soap does not count.",
            )
        self.order_fields([*(f"sales_{year}" for year in self.years), "makes"])
        self.helper = helper("Work it out")

    def sales(self) -> dict[int, int]:
        return {year: self.cleaned_data[f"sales_{year}"] for year in self.years}
