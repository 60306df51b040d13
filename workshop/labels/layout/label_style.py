"""The style of labels and the typefaces that it names, read once."""

from base64 import b64encode
from functools import cache
from pathlib import Path

from django.contrib.staticfiles import finders
from weasyprint import CSS

from workshop.core.paper.css_layout import NOTHING_OUTSIDE, fonts
from workshop.core.paper.typefaces import FACES
from workshop.labels.layout.font_metrics import BOLD


@cache
def font_faces() -> str:
    """The typefaces of the packages as rules of style, so that paper has those of the screen."""
    rules = (
        f"@font-face {{ font-family: '{face.family}'; "
        f"font-weight: {face.weight if face.weight < BOLD else 'bold'}; "
        f"src: url(data:font/ttf;base64,{b64encode(face.path.read_bytes()).decode()}) }}"
        for face in FACES
    )
    return "\n".join(rules)


@cache
def style_sheet(name: str = "label") -> CSS:
    """The style of every label, or of every carton, read once."""
    text = Path(str(finders.find(f"css/{name}.css"))).read_text(encoding="utf-8")
    return CSS(string=font_faces() + text, url_fetcher=NOTHING_OUTSIDE, font_config=fonts())
