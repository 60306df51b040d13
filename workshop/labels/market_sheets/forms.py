"""Forms of market sheets, firms, words, names, and of what bears claims out."""

import re
from typing import Any

from django import forms

from workshop.core.forms import DayField, DocumentField, TokenField, helper
from workshop.core.markets import Market
from workshop.core.saving.edit_conflicts import Watching
from workshop.labels.models import MadeFor, MarketSheet, OwnName, Party, Phrase, ProductClass
from workshop.rules.markets.laws import law_of
from workshop.rules.markets.phrases import LANGUAGES


def _area(label: str, rows: int = 3, **kwargs: Any) -> forms.CharField:
    widget = forms.Textarea(attrs={"rows": rows})
    return forms.CharField(label=label, max_length=2000, widget=widget, **kwargs)


class SheetForm(Watching, forms.Form):
    """What a product is in one market."""

    product_class = forms.ChoiceField(label="Class", choices=ProductClass)
    responsible = forms.ModelChoiceField(
        label="Firm on the label", queryset=Party.objects.none(), required=False
    )
    made_for = forms.ChoiceField(label="The maker’s line", choices=MadeFor, required=False)
    origin = forms.CharField(
        label="Country of origin",
        max_length=60,
        required=False,
        help_text="As printed, such as USA.",
    )
    languages = forms.CharField(
        max_length=40,
        help_text="In the order of the label: en, de, fr, or others of your own table of words.",
    )
    function = forms.CharField(
        label="Its function or what it is",
        max_length=120,
        required=False,
        help_text="In English; left empty, what the product itself says.",
    )
    warnings = _area("Further cautions here", required=False, help_text="In English, one per line.")
    substantiated_by = forms.CharField(label="Safety assessed by", max_length=160, required=False)
    substantiated_on = DayField(label="Safety assessed on", required=False)
    notification_number = forms.CharField(max_length=60, required=False)
    notified_on = DayField(required=False)

    def __init__(self, *args: Any, sheet: MarketSheet, **kwargs: Any) -> None:
        kwargs["initial"] = {name: getattr(sheet, name) for name in self.base_fields}
        kwargs["initial"]["languages"] = ", ".join(sheet.languages)
        super().__init__(*args, **kwargs)
        law, parties = law_of(sheet.market), Party.objects.filter(market=sheet.market)
        firm: Any = self.fields["responsible"]
        firm.queryset = parties
        firm.label = "Responsible person" if law.needs_responsible_person else firm.label
        firm.empty_label = "none yet" if law.needs_responsible_person else "only ourselves"
        firm.help_text = law.responsible_rule
        self.fields["substantiated_by"].help_text = law.substantiation_rule
        self.fields["notification_number"].label = f"Number of the {law.notification}"
        if sheet._state.adding and parties.count() == 1:
            self.initial["responsible"] = parties.get().pk
        self.helper = helper("Save the sheet")
        self.watch(MarketSheet.history.filter(product=sheet.product, market=sheet.market))

    def clean_languages(self) -> list[str]:
        codes = re.split(r"[,;\s]+", self.cleaned_data["languages"].strip().lower())
        codes = [code for code in dict.fromkeys(codes) if code]
        own = set(Phrase.objects.values_list("language", flat=True))
        for code in codes:
            if code not in LANGUAGES and code not in own:
                raise forms.ValidationError(
                    f"There are no words in “{code}” yet. Known are "
                    f"{', '.join(sorted({*LANGUAGES, *own}))}; others begin with a line of yours "
                    "in the table of words."
                )
        return codes


class PartyForm(Watching, forms.ModelForm[Party]):
    """A responsible person, or a firm that a label names as the maker's customer."""

    class Meta:
        model = Party
        fields = ("market", "name", "address", "country", "contact", "phone")
        widgets = {"address": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Save the firm")
        self.watch(Party.history.filter(id=self.instance.pk or 0))

    def clean_country(self) -> str:
        code = str(self.cleaned_data["country"]).strip().upper()
        if not re.fullmatch("[A-Z]{2}", code):
            raise forms.ValidationError("Give the code of two letters, such as DE.")
        return code


class PhraseForm(forms.Form):
    """Words of the owner's in a language of labels."""

    language = forms.CharField(max_length=5, help_text="Its code: de, fr, nl …")
    english = forms.CharField(label="In English", max_length=300)
    text = forms.CharField(label="In that language", max_length=400)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Save the words")

    def clean_language(self) -> str:
        code = str(self.cleaned_data["language"]).strip().lower()
        if not re.fullmatch("[a-z]{2}(-[a-z]{2})?", code):
            raise forms.ValidationError("Give the code of a language, such as nl.")
        if code == "en":
            raise forms.ValidationError("English words are kept with the product itself.")
        return code

    def clean(self) -> dict[str, Any]:
        values: dict[str, Any] = super().clean() or {}
        gaps = [values.get(name, "").count("{}") for name in ("english", "text")]
        if gaps[0] != gaps[1]:
            self.add_error("text", "Both need the same number of gaps, written {}.")
        for name in ("english", "text"):
            if re.search("[{}]", values.get(name, "").replace("{}", "")):
                self.add_error(name, "A gap is written {}, with nothing between; leave others out.")
        return values


class OwnNameForm(forms.Form):
    """The owner's name for an ingredient in one market."""

    market = forms.ChoiceField(choices=Market)
    inci_name = forms.CharField(label="INCI name as entered under Materials", max_length=160)
    name = forms.CharField(label="Name on the label", max_length=160)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Save the name")

    def row(self) -> OwnName:
        """The row that holds this name, or a new one."""
        values = self.cleaned_data
        known = OwnName.objects.filter(
            market=values["market"], inci_name__iexact=values["inci_name"]
        ).first()
        return known or OwnName()


class ClaimProofForm(forms.Form):
    """What bears out a claim."""

    token = TokenField()
    claim = forms.CharField(max_length=300)
    evidence = _area(
        "Evidence",
        help_text="What was tested or read, by whom, and where it is kept.",
    )
    dated = DayField(label="Date of the evidence")
    document = DocumentField(label="The document", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Note the evidence")


class ClaimAnswerForm(forms.Form):
    """Why words that were found may stand."""

    token = TokenField()
    sentence = forms.CharField(max_length=500, widget=forms.HiddenInput)
    word = forms.CharField(max_length=120, widget=forms.HiddenInput)
    answer = _area("Why they may stand", rows=2)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Justify them")
