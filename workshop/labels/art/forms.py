"""The form of a product's art."""

from typing import Any

from django import forms

from workshop.core.forms import DocumentField, helper
from workshop.core.saving.edit_conflicts import Watching
from workshop.labels.models import Art, ArtKind, Placement
from workshop.labels.models.art import HEX


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
    artwork = DocumentField(
        label="Artwork of your own",
        required=False,
        help_text="PDF, PNG or JPEG, at most 3 MB, the longer side at least 600 dots. It never "
        "covers words or codes.",
    )
    placement = forms.ChoiceField(label="Where the artwork stands", choices=Placement)
    without_artwork = forms.BooleanField(label="Take the artwork off", required=False)

    def __init__(self, *args: Any, art: Art, **kwargs: Any) -> None:
        names = ("kind", "dark", "middle", "light", "ground", "placement")
        kwargs["initial"] = {name: getattr(art, name) for name in names}
        super().__init__(*args, **kwargs)
        self.helper = helper("Keep the art")
        self.helper.attrs = {"id": "draft-form"}
        self.watch(Art.history.filter(product=art.product))

    def look(self) -> dict[str, Any]:
        """What is typed, without files."""
        files = ("artwork", "without_artwork")
        return {key: value for key, value in self.cleaned_data.items() if key not in files}
