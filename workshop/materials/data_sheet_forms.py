"""Forms of what a certificate of analysis or a data sheet says of a lot or a material."""

from typing import Any

from crispy_forms.layout import Layout
from django import forms

from workshop.core.forms import helper
from workshop.rules.allergens.certificate import AllergenCertificate, read_certificate

HOW = (
    "One per line, as the certificate has it: a name or CAS number, then the figure. "
    "“Linalool 31.5 %”, “Limonene 1200 mg/kg”, “Eugenol not detected”. "
    "Without a unit it is per cent; “< 0.01 %” is kept as 0.01 %."
)


class ContentsForm(forms.Form):
    """Allergens as a certificate of analysis gives them, one per line."""

    allergens = forms.CharField(
        required=False,
        max_length=8000,
        widget=forms.Textarea(attrs={"rows": 12, "spellcheck": "false"}),
        help_text=HOW,
    )
    leaves_out = forms.BooleanField(
        label="Leave out what is not on the EU list of allergens", required=False
    )
    source = forms.CharField(
        label="Where from",
        max_length=200,
        required=False,
        help_text="Such as a dated certificate of analysis, or a supplier's sheet.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Save the figures")
        self.helper.layout = Layout(*self.fields)

    def clean(self) -> dict[str, Any]:
        """Every odd line is told at once; what is on no list is told until it is left out."""
        data = self.cleaned_data
        read = read_certificate(data.get("allergens") or "")
        told = list(read.faults)
        if read.not_listed and not data.get("leaves_out"):
            told.append(
                f"Not on the EU list of allergens: {', '.join(read.not_listed)}. Correct the name, "
                "or tick below that it is left out."
            )
        for sentence in told:
            self.add_error("allergens", sentence)
        return {**data, "read": read}

    @property
    def read(self) -> AllergenCertificate:
        found: AllergenCertificate = self.cleaned_data["read"]
        return found

    def figures(self) -> dict[str, Any]:
        """What is kept: shares by name, and where they are from."""
        return {"shares": self.read.percents, "source": self.cleaned_data["source"]}
