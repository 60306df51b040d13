"""Forms of a round: what it asks for, one count, a sheet of paper, and how it ends."""

from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal
from typing import Any

from crispy_forms.layout import Div, Layout
from django import forms
from django.utils import timezone

from workshop.core.forms import DayField, ExactField, TokenField, helper, parts_helper
from workshop.core.web.passwords import ConfirmedForm
from workshop.counts.models import AbcClass
from workshop.counts.rounds import Line, RoundState
from workshop.counts.services import Choice
from workshop.ledger.forms import places
from workshop.ledger.models import ItemKind, Lot, Place
from workshop.ledger.services import LARGEST

BLIND, OPEN = "blind", "open"


class RoundForm(forms.Form):
    """By what the lots of a round are chosen; each question narrows it down."""

    place = forms.TypedChoiceField(
        label="Where", required=False, coerce=lambda pk: Place.objects.get(pk=pk), empty_value=None
    )
    kind = forms.ChoiceField(
        label="What", choices=[("", "everything"), *ItemKind.choices], required=False
    )
    abc_class = forms.ChoiceField(
        label="Class", choices=[("", "all classes"), *AbcClass.choices], required=False
    )
    only_due = forms.BooleanField(
        label="Only what is due for counting", required=False, initial=False
    )
    tolerance_percent = ExactField(
        label="Tolerance, %", places=2, least=0, most=100, required=False,
        help_text="Left empty, by the class: A 1 %, B 3 %, C 5 % of what the book says.",
    )  # fmt: skip
    how = forms.ChoiceField(
        label="What the book says",
        choices=[(BLIND, "is hidden from the counters"), (OPEN, "is shown to the counters")],
        initial=BLIND,
        help_text="People who know the figure tend to find it.",
    )
    token = TokenField()
    helper = helper("Begin the round")

    def __init__(self, data: Any = None, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        known = Place.objects.filter(is_active=True).values_list("pk", "name")
        field: Any = self.fields["place"]
        field.choices = [("", "everywhere"), *((str(pk), name) for pk, name in known)]
        self.helper.layout = Layout(
            Div("place", "kind", "abc_class", css_class="row"),
            "only_due",
            Div("tolerance_percent", "how", css_class="row"),
            "token",
        )

    @property
    def choice(self) -> Choice:
        typed = self.cleaned_data
        return Choice(
            place=typed["place"],
            kind=typed["kind"],
            abc_class=typed["abc_class"],
            only_due=typed["only_due"],
            is_blind=typed["how"] == BLIND,
            tolerance_percent=typed["tolerance_percent"],
        )


class CountForm(forms.Form):
    """What one person counted of one lot."""

    note = forms.CharField(
        max_length=300, required=False, label="Remark", help_text="If something is odd about it."
    )
    token = TokenField()

    def __init__(self, data: Any = None, *, lot: Lot) -> None:
        super().__init__(data)
        self.fields["counted"] = counted_field(lot)
        self.order_fields(["counted", "note"])
        self.helper = parts_helper()


def counted_field(lot: Lot, **options: Any) -> ExactField:
    return ExactField(
        label=f"Counted, in {lot.item.get_unit_display()}",
        places=places(lot),
        least=0,
        most=LARGEST - 1,
        **options,
    )


class SheetForm(forms.Form):
    """The figures of a sheet of paper, and when it was filled in."""

    counted_on = DayField(label="Counted on")
    counted_time = forms.TimeField(
        label="At about",
        widget=forms.TimeInput(format="%H:%M", attrs={"type": "time"}),
        error_messages={"invalid": "Write the time as 14:05."},
        help_text="Each figure is compared with the book at that time.",
    )
    token = TokenField()
    helper = parts_helper()

    def __init__(self, data: Any = None, *, lines: Iterable[Line]) -> None:
        super().__init__(data)
        self.lots = {line.row.lot_id: line.row.lot for line in lines}
        now = timezone.localtime()
        self.fields["counted_on"].initial = now.date()
        self.fields["counted_time"].initial = now.time().replace(second=0, microsecond=0)
        for lot in self.lots.values():
            self.fields[f"counted-{lot.pk}"] = ExactField(
                label=f"Counted of lot {lot}",
                places=places(lot),
                least=0,
                most=LARGEST - 1,
                required=False,
            )

    def field_of(self, lot: Lot) -> Any:
        return self[f"counted-{lot.pk}"]

    @property
    def counted_at(self) -> datetime:
        typed = self.cleaned_data
        return timezone.make_aware(datetime.combine(typed["counted_on"], typed["counted_time"]))

    @property
    def figures(self) -> dict[Lot, Decimal]:
        typed = {lot: self.cleaned_data.get(f"counted-{pk}") for pk, lot in self.lots.items()}
        return {lot: figure for lot, figure in typed.items() if figure is not None}

    def clean(self) -> None:
        if not self.errors and not self.figures:
            raise forms.ValidationError("Enter at least one figure.")


class EndForm(ConfirmedForm):
    """Where the book is set to what was counted, each with the reason; signed."""

    token = TokenField()
    helper = parts_helper()

    def __init__(self, data: Any = None, *, state: RoundState, request: Any) -> None:
        super().__init__(data, request=request)
        self.state = state
        for line in state.differing:
            self.fields[f"post-{line.row.pk}"] = forms.BooleanField(
                label=f"Set lot {line.row.lot} to what was counted", required=False, initial=True
            )
            self.fields[f"reason-{line.row.pk}"] = forms.CharField(
                label=f"Why lot {line.row.lot} differs", max_length=200, required=False
            )
        self.order_fields([name for name in self.fields if name != "password"])

    def fields_of(self, line: Line) -> tuple[Any, Any]:
        return self[f"post-{line.row.pk}"], self[f"reason-{line.row.pk}"]

    @property
    def reasons(self) -> dict[int, str]:
        typed = self.cleaned_data
        return {
            line.row.pk: typed[f"reason-{line.row.pk}"]
            for line in self.state.differing
            if typed[f"post-{line.row.pk}"]
        }

    def clean(self) -> None:
        for line in self.state.differing:
            key = line.row.pk
            if self.cleaned_data.get(f"post-{key}") and not self.cleaned_data.get(f"reason-{key}"):
                self.add_error(f"reason-{key}", "Say why, as far as you know.")


class ClassesForm(forms.Form):
    """Nothing but a press: everything is worked out."""

    token = TokenField()
    helper = helper("Recalculate the classes")
