"""Art is drawn from the grams and hides nothing: no letter changes, every code reads."""

import io
import re
from decimal import Decimal

import pikepdf
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from tests import make
from tests.labels import build, paper
from workshop.core.errors import ActionRefused
from workshop.core.files.uploads import CheckedFile
from workshop.core.models import Role, User
from workshop.labels.art.chosen_art import art_of, dress_of
from workshop.labels.art.drawing import Artwork, Dress, composed
from workshop.labels.art.frame import frames
from workshop.labels.art.gram_art import Look, count, ring, row
from workshop.labels.art.print_shop_file import press_pdf
from workshop.labels.content.label import Label, label_for
from workshop.labels.layout.fit_to_label import draw
from workshop.labels.layout.label_stock import BY_KEY
from workshop.labels.models import Art, CodeKind, LabelDesign
from workshop.labels.services.art import save_art
from workshop.rules.labels.contrast import contrast

pytestmark = pytest.mark.django_db

GTIN = "9520000700607"


def labelled(**values: object) -> Label:
    build.workshop()
    lot = build.balm(identity="hand salve", is_small_package=True, gtin=GTIN, **values)
    LabelDesign.objects.create(product=lot.item.product, code=CodeKind.DATAMATRIX)
    lot.item.product.refresh_from_db()
    return label_for(lot)


def hostile() -> Artwork:
    """Blots of every colour, letters' size, over everything."""
    picture = Image.effect_noise((900, 900), 200).convert("RGB").quantize(6).convert("RGB")
    written = io.BytesIO()
    picture.save(written, format="PNG")
    return Artwork(written.getvalue(), "image/png", is_ground=True)


@pytest.mark.parametrize("kind", ["petal", "stem", "grain"])
@pytest.mark.parametrize("grams", [15, 60, 110])
def test_one_piece_is_drawn_a_gram(kind: str, grams: int) -> None:
    look = Look(kind)

    for drawn in (ring(grams, look, 20, 28), row(grams, look, 0, 100, 8, 6)):
        assert len(re.findall("transform=", drawn)) == grams == count(grams)
        assert drawn.count(look.dark) == grams // 10
        assert drawn.count(look.middle) == grams // 5 - grams // 10


def test_contrast_is_that_of_wcag() -> None:
    # WCAG 2.1: black on white is 21 to 1; #767676 on white is the known edge of 4.5 to 1.
    assert (contrast("#000000", "#ffffff"), contrast("#767676", "#ffffff")) == (
        Decimal("21.0"),
        Decimal("4.5"),
    )


@pytest.mark.parametrize(("size", "kind"), [("lid-60", "ring"), ("100x70", "strip")])
def test_art_painted_over_all_of_it_changes_no_letter_and_hides_no_code(
    size: str, kind: str
) -> None:
    label = labelled()
    drawn = draw(label, BY_KEY[size])
    assert (drawn.frame.kind, drawn.dress) == (kind, dress_of(label.product))

    painted = composed(drawn.words, drawn.frame, Dress(Look(), 60, hostile()))

    assert paper.words_mm(painted) == paper.words_mm(drawn.pdf)
    for dpi in (203, 300):
        plain, art = (paper.pictures(one, dpi, smooth=False)[0] for one in (drawn.pdf, painted))
        assert paper.codes(art) == paper.codes(plain)
        if kind == "strip":
            assert {text for _, text in paper.codes(art)} >= {GTIN}
        # Within the ground, not a dot differs.
        top = float(drawn.frame.top_mm) / 25.4 * dpi + 2
        if kind == "strip":
            edge = 1.4 / 25.4 * dpi
            box = (round(edge), round(top), round(plain.width - edge), round(plain.height - edge))
            assert plain.crop(box).tobytes() == art.crop(box).tobytes()


def test_art_gives_way_where_the_words_need_the_room() -> None:
    label = labelled(label_name="Grandmother's calendula and wild rose cuticle and heel salve")

    drawn = draw(label, BY_KEY["70x37"])

    assert drawn.letter_mm >= drawn.least_mm
    assert [one.kind for one in frames(BY_KEY["lid-60"])] == ["ring", "ring", "ring", "bare"]


def test_press_file_has_trim_bleed_marks_and_black_words() -> None:
    drawn = draw(labelled(), BY_KEY["lid-60"])

    press = press_pdf(drawn.words, drawn.frame, Dress(Look(), 60))

    with pikepdf.open(io.BytesIO(press)) as pdf:
        page, cut = pdf.pages
        boxes = [
            [round(float(edge) / 72 * 25.4, 1) for edge in page.obj[name]]
            for name in ("/MediaBox", "/BleedBox", "/TrimBox")
        ]
        forms = page.obj.Resources.XObject
        drawings = b"".join(form.read_bytes() for form in forms.values())
    assert boxes == [[0, 0, 76, 76], [6, 6, 70, 70], [8, 8, 68, 68]]
    # Told as inks alone, words in black alone: no red, green and blue is left.
    assert not re.search(rb"[\d.]+ [\d.]+ [\d.]+ rg\b", drawings)
    assert re.search(rb"\b0(\.0+)? 0(\.0+)? 0(\.0+)? 1(\.0+)? k\b", drawings) or b" g\n" in drawings
    assert "Net wt." in paper.text(press)
    del cut


def picture_of(wide: int, high: int) -> CheckedFile:
    written = io.BytesIO()
    Image.new("RGB", (wide, high), "#336699").save(written, format="PNG")
    return CheckedFile("art.png", written.getvalue(), "image/png")


def test_art_is_kept_and_what_would_print_badly_is_refused() -> None:
    product, owner = labelled().product, make.user(Role.OWNER)
    look = {"kind": "grain", "dark": "#402010", "middle": "#805030", "light": "#c0a080"}

    save_art(product, look, artwork=picture_of(900, 600), by=owner, at=make.NOON)

    kept = Art.objects.get()
    assert (kept.kind, kept.artwork is not None) == ("grain", True)
    with pytest.raises(ActionRefused, match="needs at least 600"):
        save_art(product, look, artwork=picture_of(300, 300), by=owner, at=make.NOON)
    with pytest.raises(ActionRefused, match="contrast of"):
        save_art(product, {"ground": "#224466"}, by=owner, at=make.NOON)
    with pytest.raises(ActionRefused, match="Only an owner"):
        save_art(product, look, by=make.user(Role.PACKER), at=make.NOON)
    save_art(art_of(product).product, look, without_artwork=True, by=owner, at=make.NOON)
    assert Art.objects.get().artwork is None


def test_art_page_shows_the_label_and_keeps_what_is_chosen(client: Client) -> None:
    label = labelled()
    owner: User = make.user(Role.OWNER)
    client.force_login(owner)
    address = reverse("labels:art", args=[label.lot.item.code])
    look = {
        "kind": "stem", "dark": "#1f4450", "middle": "#43606b", "light": "#6f929a",
        "ground": "#fffdf8", "placement": "slot",
    }  # fmt: skip
    art = SimpleUploadedFile("a.png", picture_of(800, 700).content, "image/png")

    assert b"data:image/png" in client.get(address).content
    assert b"data:image/png" in client.post(f"{address}typed/", look).content
    assert client.post(address, look | {"artwork": art}).status_code == 302
    assert Art.objects.get().kind == "stem"
    press = client.get(reverse("labels:press", args=[label.lot.code]), {"layout": "lid-60"})
    assert press["Content-Type"] == "application/pdf"
