"""The form of a product's art."""

from typing import Any

from django import forms

from workshop.core.errors import ActionRefused
from workshop.core.files.uploads import CheckedFile
from workshop.core.forms import helper
from workshop.core.saving.edit_conflicts import Watching
from workshop.labels.art.artwork import ACCEPT, checked_artwork
from workshop.labels.models import Art, ArtKind, Placement
from workshop.labels.models.art import HEX
from workshop.labels.services.art import FILES


class ArtworkField(forms.FileField):
    """Artwork or a logo; a `CheckedFile` comes out, as it may be kept."""

    def __init__(self, **kwargs: Any) -> None:
        widget = forms.FileInput(attrs={"accept": ACCEPT})
        super().__init__(required=False, widget=widget, **kwargs)

    def clean(self, data: Any, initial: Any = None) -> CheckedFile | None:
        file = super().clean(data, initial)
        if not file:
            return None
        try:
            return checked_artwork(file.name, file)
        except ActionRefused as error:
            raise forms.ValidationError(error.message) from error


def _colour(label: str) -> forms.CharField:
    return forms.CharField(
        label=label,
        max_length=7,
        validators=[HEX],
        widget=forms.TextInput(attrs={"type": "color"}),
    )


class ArtForm(Watching, forms.Form):
    """Kind, colours, artwork."""

    kind = forms.ChoiceField(
        label="Drawn from the grams as",
        choices=ArtKind,
        help_text="One for each gram of the net contents, every fifth darker, every tenth longest.",
    )
    dark = _colour("Colour of every tenth")
    middle = _colour("Colour of every fifth")
    light = _colour("Colour of the others")
    ground = _colour("Ground of the words")
    artwork = ArtworkField(
        label="Artwork of your own",
        help_text="PDF of one page, SVG, PNG or JPEG, at most 3 MB; a picture at least 600 dots "
        "long. It may run over the edge, and never covers words or codes.",
    )
    placement = forms.ChoiceField(label="Position of the artwork", choices=Placement)
    back_artwork = ArtworkField(
        label="Artwork for backs, bases and bands",
        help_text="For labels that carry the information alone.",
    )
    logo = ArtworkField(
        label="Logo",
        help_text="An SVG is sharp at any size. It stands whole, 2 mm and more from the edge.",
    )
    without = forms.MultipleChoiceField(
        label="Take off", required=False, widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, *args: Any, art: Art, **kwargs: Any) -> None:
        names = ("kind", "dark", "middle", "light", "ground", "placement")
        kwargs["initial"] = {name: getattr(art, name) for name in names}
        super().__init__(*args, **kwargs)
        there = [(name, self.fields[name].label) for name in FILES if getattr(art, name)]
        if there:
            self.fields["without"].choices = there  # type: ignore[attr-defined]  # of choices
        else:
            del self.fields["without"]
        self.helper = helper("Save the art")
        self.helper.attrs = {"id": "draft-form"}
        self.watch(Art.history.filter(product=art.product))

    def look(self) -> dict[str, Any]:
        """What is typed, without files."""
        files = (*FILES, "without")
        return {key: value for key, value in self.cleaned_data.items() if key not in files}

    def files_given(self) -> dict[str, CheckedFile]:
        given = {name: self.cleaned_data.get(name) for name in FILES}
        return {name: file for name, file in given.items() if file}

    def taken_off(self) -> list[str]:
        return list(self.cleaned_data.get("without", []))
