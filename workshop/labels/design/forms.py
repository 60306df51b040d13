"""Forms of what labels are made from: designs, drafts, sizes."""

from decimal import Decimal
from typing import Any

from django import forms

from workshop.core.forms import DayField, ExactField, helper
from workshop.labels import models
from workshop.labels.content.may_contain import colour_text, is_no_colour
from workshop.labels.content.required_warnings import CHOICES as STATEMENTS
from workshop.labels.content.required_warnings import SUBSTANTIATION
from workshop.labels.models import (
    Carries,
    CodeKind,
    DateStyle,
    LabelDesign,
    LabelVersion,
    OunceDecimals,
    OwnSize,
    Panel,
    Shape,
    SoapNaming,
)
from workshop.packing.promises import promise_us
from workshop.rules.errors import RuleError
from workshop.rules.ingredients.declaration import read_colours


def _area(label: str, **kwargs: Any) -> forms.CharField:
    widget = forms.Textarea(attrs={"rows": 3})
    return forms.CharField(label=label, max_length=2000, required=False, widget=widget, **kwargs)


def _mm(label: str, *, required: bool = False, **kwargs: Any) -> ExactField:
    return ExactField(label=label, places=2, least=0, most=1000, required=required, **kwargs)


class DesignForm(forms.Form):
    """What a product's labels say and carry besides what the product itself does."""

    sold_in_us = forms.BooleanField(label="Sold in the United States", required=False)
    sold_in_eu = forms.BooleanField(label="Sold in the European Union", required=False)
    sold_in_uk = forms.BooleanField(
        label="Sold in Great Britain",
        required=False,
        help_text="Northern Ireland follows the EU.",
    )
    claims = _area("Claims", help_text="One per line. Each must be provable.")
    statements = forms.MultipleChoiceField(
        label="Required warnings",
        choices=STATEMENTS,
        required=False,
        help_text=SUBSTANTIATION,
        widget=forms.CheckboxSelectMultiple,
    )
    may_contain = _area(
        "Colours of other batches or shades",
        help_text="One per line, such as CI 77491 (Iron Oxides). They are named after “may "
        "contain”, as the rules allow for colours that match a batch "
        "or that other shades of a line hold.",
    )
    soap_naming = forms.ChoiceField(label="Soap is named", choices=SoapNaming)
    names_fragrance = forms.BooleanField(
        label="Name each fragrance instead of one word", required=False
    )
    keeps_months = forms.IntegerField(
        label="Stated shelf life, months",
        min_value=1,
        max_value=120,
        required=False,
        help_text="“Keeps 18 months” on the label. Left empty, only each lot's own date stands.",
    )
    opened_months = forms.IntegerField(
        label="Good after opening, months",
        min_value=1,
        max_value=99,
        required=False,
        help_text="In the EU it replaces the date on what keeps longer than 30 months.",
    )
    has_hourglass = forms.BooleanField(
        label="The hourglass in place of “best used before the end of”",
        required=False,
        help_text="Where the law offers it: Regulation (EC) 1223/2009, article 19(1)(c).",
    )
    has_e_mark = forms.BooleanField(
        label="Carries the EU e mark",
        required=False,
        help_text="Printed only when the fill check of the run supports it.",
    )
    ounce_decimals = forms.TypedChoiceField(
        label="Decimals of the ounces",
        choices=OunceDecimals,
        coerce=int,
        help_text="21 CFR 701.13(d) allows two. The figure is cut, never rounded up; fewer are "
        "taken only where hardly anything is lost.",
    )
    code = forms.ChoiceField(label="Lot barcode", choices=CodeKind)
    link_base = forms.URLField(
        label="Address of the web codes",
        required=False,
        assume_scheme="https",
        help_text="Such as https://example.org. Left empty, https://id.gs1.org.",
    )
    panel = forms.ChoiceField(
        label="Main panel",
        choices=Panel,
        help_text="Its area decides how high the net contents must be.",
    )
    panel_width_mm = ExactField(
        label="Its width or diameter, mm", places=1, least=1, most=1000, required=False
    )
    panel_height_mm = ExactField(
        label="Its height, mm", places=1, least=1, most=1000, required=False
    )

    def __init__(self, *args: Any, design: LabelDesign, **kwargs: Any) -> None:
        kwargs["initial"] = {name: getattr(design, name) for name in self.base_fields}
        super().__init__(*args, **kwargs)
        self.product = design.product
        self.helper = helper("Save")

    def clean_ounce_decimals(self) -> int:
        decimals: int = self.cleaned_data["ounce_decimals"]
        try:
            promise_us(self.product, ounce_decimals=decimals)
        except RuleError as error:
            raise forms.ValidationError(str(error)) from error
        return decimals

    def clean_may_contain(self) -> str:
        """Each checked as what is weighed in is: a name that a label can print, and a colour."""
        try:
            colours = read_colours(self.cleaned_data["may_contain"].splitlines())
        except RuleError as error:
            raise forms.ValidationError(str(error)) from error
        for colour in colours:
            if is_no_colour(colour.inci_name):
                raise forms.ValidationError(
                    f"{colour.inci_name} is entered under Materials as something else than a "
                    "colour, and only colours may stand after “may contain”."
                )
        return "\n".join(colour_text(colour) for colour in colours)


class LabelDraftForm(forms.Form):
    """The words of a draft, and the order of its list where the order is free."""

    name = forms.CharField(max_length=120)
    identity = forms.CharField(label="What it is", max_length=120, required=False)
    organic_statement = forms.CharField(max_length=200, required=False)
    names = forms.CharField(
        label="Ingredient list",
        widget=forms.Textarea(attrs={"rows": 8}),
        max_length=8000,
        help_text="One name per line, as computed. Only the order may change, where it is free.",
    )
    claims = _area("Claims")
    directions = _area("Directions")
    cautions = _area("Cautions")
    maker = forms.CharField(label="Maker", max_length=600, widget=forms.Textarea(attrs={"rows": 4}))
    date_style = forms.ChoiceField(label="Date", choices=DateStyle)
    fixed_date = DayField(
        label="Date on the artwork",
        required=False,
        help_text="Only when the date is printed with the artwork, not with each lot.",
    )
    keeps_months = forms.IntegerField(
        label="Stated shelf life, months", min_value=1, max_value=120, required=False
    )
    opened_months = forms.IntegerField(
        label="Good after opening, months", min_value=1, max_value=99, required=False
    )

    def __init__(self, *args: Any, version: LabelVersion, **kwargs: Any) -> None:
        names = [name for name in self.base_fields if name != "names"]
        kwargs["initial"] = {name: getattr(version, name) for name in names}
        kwargs["initial"]["names"] = "\n".join(entry["name"] for entry in version.entries)
        super().__init__(*args, **kwargs)
        self.helper = helper("Save the draft")
        self.helper.attrs = {"id": "draft-form"}

    def clean(self) -> dict[str, Any]:
        values: dict[str, Any] = super().clean() or {}
        style, day = values.get("date_style"), values.get("fixed_date")
        if (style == DateStyle.FIXED) != (day is not None):
            self.add_error("fixed_date", "Give a date if the artwork carries one, else none.")
        if style == DateStyle.JAR and not values.get("opened_months"):
            self.add_error("opened_months", "The open jar needs its months.")
        return values

    def words(self) -> dict[str, Any]:
        return {key: value for key, value in self.cleaned_data.items() if key != "names"}

    def order(self) -> list[str]:
        lines = self.cleaned_data["names"].splitlines()
        return [line.strip() for line in lines if line.strip()]


class SizeForm(forms.Form):
    """A label size of the workshop's own."""

    name = forms.CharField(max_length=60)
    shape = forms.ChoiceField(choices=Shape)
    carries = forms.ChoiceField(label="It carries", choices=Carries)
    width_mm = _mm("Width or diameter, mm", required=True)
    height_mm = _mm("Height, mm", help_text="Of a round one, its diameter again or nothing.")
    margin_mm = _mm("Margin inside, mm", required=True, initial=Decimal(2))
    dpi = forms.TypedChoiceField(
        label="Printed by",
        choices=[("", "a sheet printer"), (203, "a label printer, 203 dpi"),
                 (300, "a label printer, 300 dpi")],
        coerce=int,
        empty_value=None,
        required=False,
    )  # fmt: skip
    columns = forms.IntegerField(
        min_value=1, max_value=30, required=False, help_text="Empty for a roll."
    )
    rows = forms.IntegerField(min_value=1, max_value=60, required=False)
    page_width_mm = _mm("Page width, mm", help_text="A4 is 210, Letter 215.9.")
    page_height_mm = _mm("Page height, mm", help_text="A4 is 297, Letter 279.4.")
    left_mm = _mm("Left margin of the page, mm")
    top_mm = _mm("Upper margin of the page, mm")
    gap_right_mm = _mm("Gap between columns, mm", initial=Decimal(0))
    gap_down_mm = _mm("Gap between rows, mm", initial=Decimal(0))
    is_active = forms.BooleanField(label="In use", required=False, initial=True)

    def __init__(self, *args: Any, size: OwnSize | None, **kwargs: Any) -> None:
        if size is not None:
            kwargs["initial"] = {name: getattr(size, name) for name in self.base_fields}
        super().__init__(*args, **kwargs)
        self.helper = helper("Save the size")

    def values(self) -> dict[str, Any]:
        values = dict(self.cleaned_data)
        for name in ("gap_right_mm", "gap_down_mm"):
            values[name] = values[name] or Decimal(0)
        if values["shape"] == models.Shape.ROUND or values["height_mm"] is None:
            values["height_mm"] = values["width_mm"]
        return values
