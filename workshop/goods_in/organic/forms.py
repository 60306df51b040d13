"""Forms: the organic papers of a delivery, a certificate stopped, a lot judged, a supplier."""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from crispy_forms.layout import Div, Field, Layout
from django import forms
from django.utils.dateparse import parse_date

from workshop.core.forms import DayField, DocumentField, TokenField, helper, parts_helper
from workshop.goods_in.delivery_checks import Papers
from workshop.goods_in.forms import picking
from workshop.goods_in.models import Certificate, StopKind, SupplierReview, Verdict
from workshop.ledger.models import Lot
from workshop.rules.organic.fraud_prevention import AT_RECEIPT, OF_SUPPLIER


class PapersForm(forms.Form):
    """What was looked at on the papers of a delivery; all of it may stay empty."""

    name_on_papers = forms.CharField(
        label="Supplier's name on invoice and shipping papers",
        max_length=120,
        required=False,
        help_text="If it is not the name on the certificate, organic lots are held.",
    )
    import_certificate = forms.CharField(label="Import certificate", max_length=60, required=False)
    checked_on = DayField(label="Checked in the public database on", required=False)
    checked_by = forms.CharField(
        label="Checked by", max_length=80, required=False, help_text="You, if it stays empty."
    )
    practices = forms.MultipleChoiceField(
        label="What was looked at",
        choices=[(one.key, one.words) for one in AT_RECEIPT],
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = parts_helper()
        self.helper.layout = Layout(
            Div("name_on_papers", "import_certificate", css_class="row"),
            Div("checked_on", "checked_by", css_class="row"),
            Field("practices", wrapper_class="ticks"),
        )

    def papers(self) -> Papers:
        values = dict(self.cleaned_data)
        return Papers(**{**values, "practices": tuple(values["practices"])})


class StopForm(forms.Form):
    kind = forms.TypedChoiceField(label="What happened", choices=StopKind, coerce=StopKind)
    from_day = DayField(label="From")
    lots = forms.TypedMultipleChoiceField(
        label="Lots to hold", required=False, widget=forms.CheckboxSelectMultiple
    )
    reason = forms.CharField(label="Where it is known from, and why", max_length=300)
    token = TokenField()

    def __init__(self, *args: Any, lots: Iterable[Lot], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        rows = {str(lot.pk): lot for lot in lots}
        choice = self.fields["lots"]
        assert isinstance(choice, forms.TypedMultipleChoiceField)  # noqa: S101 -- for the type checker
        choice.choices = [
            (pk, f"{lot} {lot.item}, {lot.get_status_display()}") for pk, lot in rows.items()
        ]
        choice.coerce = picking(rows)
        choice.initial = list(rows)
        self.helper = helper("Record it")
        self.helper.layout = Layout(
            Div("kind", "from_day", css_class="row"),
            Field("lots", wrapper_class="ticks"),
            "reason",
            "token",
        )


class DecisionForm(forms.Form):
    is_organic = forms.TypedChoiceField(
        label="The lot is",
        choices=[("no", "not organic"), ("yes", "organic")],
        coerce=lambda word: word == "yes",
    )
    certificate = forms.TypedChoiceField(
        label="Certificate that covered it when it came in", required=False, empty_value=None
    )
    reason = forms.CharField(max_length=300)
    token = TokenField()

    def __init__(self, *args: Any, certificates: Iterable[Certificate], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        rows = {str(row.pk): row for row in certificates}
        choice = self.fields["certificate"]
        assert isinstance(choice, forms.TypedChoiceField)  # noqa: S101 -- for the type checker
        choice.choices = [("", "none"), *((pk, str(row)) for pk, row in rows.items())]
        choice.coerce = picking(rows)
        self.helper = helper("Record the decision")


class ReviewForm(forms.Form):
    """A supplier's questionnaire: each practice done or not, since when, by what evidence."""

    verdict = forms.TypedChoiceField(choices=Verdict, coerce=Verdict)
    next_review = DayField(label="Next review")
    reason = forms.CharField(label="In words", max_length=300)
    document = DocumentField(label="Questionnaire as answered", required=False)
    token = TokenField()

    def __init__(self, *args: Any, last: SupplierReview | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        known = last.answers if last else {}
        rows: list[Div] = []
        for practice in OF_SUPPLIER:
            was = known.get(practice.key, {})
            self.fields[f"{practice.key}-done"] = forms.BooleanField(
                label=practice.words, required=False, initial=was.get("is_done")
            )
            self.fields[f"{practice.key}-on"] = DayField(
                label="On", required=False, initial=was.get("on")
            )
            self.fields[f"{practice.key}-evidence"] = forms.CharField(
                label="Evidence", max_length=200, required=False, initial=was.get("evidence")
            )
            names = [f"{practice.key}-{part}" for part in ("done", "on", "evidence")]
            rows.append(Div(Field(names[0], wrapper_class="beside"), *names[1:], css_class="row"))
        self.helper = helper("Record the review")
        self.helper.layout = Layout(
            *rows, Div("verdict", "next_review", css_class="row"), "reason", "document", "token"
        )

    def answers(self) -> dict[str, dict[str, Any]]:
        data = self.cleaned_data
        return {
            one.key: {
                "is_done": data[f"{one.key}-done"],
                "on": _text(data[f"{one.key}-on"]),
                "evidence": data[f"{one.key}-evidence"],
            }
            for one in OF_SUPPLIER
        }

    def values(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in ("verdict", "next_review", "reason")}


def _text(day: date | None) -> str:
    return day.isoformat() if day else ""


def answered(review: SupplierReview | None) -> Sequence[dict[str, Any]]:
    """The questionnaire with its answers, in its own order, for a page or a paper."""
    answers = review.answers if review else {}
    return [_shown(one.words, answers.get(one.key, {})) for one in OF_SUPPLIER]


def _shown(words: str, answer: dict[str, Any]) -> dict[str, Any]:
    return {"words": words, "day": parse_date(answer.get("on") or ""), **answer}
