"""What stands above a refused form: which fields, and what was typed there."""

from django import forms
from django.template import Context, Template

from workshop.core.web import form_errors


class Delivery(forms.Form):
    note = forms.CharField(label="Delivery note")
    weight = forms.DecimalField(label="Weight, g")
    expiry = forms.DateField(label="Expiry")
    secret = forms.CharField(label="Password", widget=forms.PasswordInput, max_length=2)
    token = forms.CharField(
        widget=forms.HiddenInput, error_messages={"required": "Load the page again."}
    )


def refused() -> Delivery:
    return Delivery({"note": "<b>OO</b>-1" * 9, "expiry": "30/2/28", "secret": "long"})


def test_each_wrong_field_is_named_and_led_to_and_no_password_shown() -> None:
    form = refused()

    assert form_errors.marked_fields([form]) == [
        ("id_weight", "Weight, g"),
        ("id_expiry", "Expiry"),
        ("id_secret", "Password"),
    ]
    assert form_errors.sentences([form]) == ["Load the page again."]


def test_typed_text_stands_beside_its_field_cut_short_and_harmless() -> None:
    class Note(forms.Form):
        note = forms.CharField(label="Note", max_length=3)

    form = Note({"note": "<b>" + "x" * 99})
    text = Template("{% load tarebook %}{% not_saved form %}").render(Context({"form": form}))

    assert "Not saved yet. One field needs correcting" in text
    assert '<a href="#id_note">Note: “&lt;b&gt;xxx' in text
    assert "x" * 31 not in text


def test_rows_are_numbered_and_a_form_not_sent_says_nothing() -> None:
    rows = forms.formset_factory(Delivery, extra=2)(
        {"form-TOTAL_FORMS": "2", "form-INITIAL_FORMS": "0", "form-1-note": "OO"}
    )

    assert ("id_form-1-weight", "2. Weight, g") in form_errors.marked_fields([rows])
    assert form_errors.marked_fields([Delivery(), None]) == []
