"""A form with fields of each sort."""

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Submit
from django import forms

from workshop.core.forms import DayField, ExactField


class SampleForm(forms.Form):
    """Fields of each sort, one rightly and two wrongly filled in."""

    item = forms.ChoiceField(choices=[("olive", "Olive oil"), ("castor", "Castor oil")])
    quantity = ExactField(places=1, label="Quantity, g", help_text="Such as 5 kg or 2 × 500 g.")
    expiry = DayField(label="Expiry (or retest) date")
    conforms = forms.BooleanField(label="Appearance conforms")

    helper = FormHelper()
    helper.form_method = "get"
    helper.add_input(Submit("show", "Receive the lot"))
