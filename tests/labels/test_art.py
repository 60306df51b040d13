"""Art is drawn from the grams and hides nothing: no letter changes, every code reads."""

import io
import re
from dataclasses import replace
from decimal import Decimal
from math import hypot

import pikepdf
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from tests import make
from tests.labels import build, paper, press_reader
from workshop.core.errors import ActionRefused
from workshop.core.files.file_check import Unfit
from workshop.core.files.uploads import CheckedFile, checked_file
from workshop.core.models import Role, User
from workshop.labels.art.artwork import SVG, Artwork, checked_artwork
from workshop.labels.art.chosen_art import art_of, dress_of
from workshop.labels.art.drawing import Dress, composed, logo_box
from workshop.labels.art.forms import ArtForm
from workshop.labels.art.frame import bare, frames
from workshop.labels.art.gram_art import Look, count, ring, row
from workshop.labels.art.print_check import art_notes, refuse_rough
from workshop.labels.art.print_shop_file import press_pdf
from workshop.labels.art.svg_cleaning import cleaned_svg
from workshop.labels.content.label import Label, label_for
from workshop.labels.layout.fit_to_label import draw
from workshop.labels.layout.label_stock import BY_KEY
from workshop.labels.models import Art, Carries, CodeKind, LabelDesign
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


HARE = (
    b'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
    b'viewBox="0 0 60 30"><defs><linearGradient id="a"><stop offset="0" stop-color="#a00"/>'
    b'<stop offset="1" stop-color="#00a"/></linearGradient></defs>'
    b'<path id="p" fill="url(#a)" d="M0 0H60V30H0Z"/>'
)


@pytest.mark.parametrize("kind", ["petal", "stem", "grain"])
@pytest.mark.parametrize("grams", [15, 60, 110])
def test_one_piece_is_drawn_a_gram(kind: str, grams: int) -> None:
    look = Look(kind)

    for drawn in (ring(grams, look, 20, 28), row(grams, look, 0, 100, 8, 6)):
        assert len(re.findall("transform=", drawn)) == grams == count(grams)
        assert drawn.count(look.dark) == grams // 10
        assert drawn.count(look.middle) == grams // 5 - grams // 10


def test_few_pieces_are_no_broader_than_long() -> None:
    for grams in (1, 3, 5):
        drawn = row(grams, Look("petal"), 0, 100, 8, 6)
        bellies = [abs(float(x)) for x in re.findall(r"M0 0C\S+ \S+ (-[\d.]+)", drawn)]
        # A petal reaches 0.62 of its breadth to each side, and is 6 mm long at most.
        assert len(bellies) == grams
        assert max(bellies) <= 0.62 * 6


def test_contrast_is_that_of_wcag() -> None:
    # WCAG 2.1: black on white is 21 to 1; #767676 on white is the known edge of 4.5 to 1.
    assert (contrast("#000000", "#ffffff"), contrast("#767676", "#ffffff")) == (
        Decimal("21.0"),
        Decimal("4.5"),
    )


@pytest.mark.parametrize(("size", "kind"), [("lid-60", "ring"), ("100x70", "strip")])
def test_art_painted_over_all_of_it_changes_no_letter_and_hides_no_code(
    size: str, kind: str, hostile: Artwork
) -> None:
    label = labelled()
    drawn = draw(label, BY_KEY[size])
    assert (drawn.frame.kind, drawn.dress) == (kind, dress_of(label.product))
    logo = Artwork(cleaned_svg(HARE + b"</svg>"), SVG)

    painted = composed(drawn.words, drawn.frame, Dress(Look(), 60, hostile, hostile, logo))

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


def test_press_file_has_trim_bleed_and_marks_and_the_cut_of_a_round_one_has_them_too() -> None:
    label = labelled()
    press = {}
    for key in ("lid-60", "100x70"):
        drawn = draw(label, BY_KEY[key])
        press[key] = press_pdf(drawn.words, drawn.frame, Dress(Look(), 60))

    # 2 mm of bleed and 8 mm around for the marks; the boxes are those of ISO 32000, 14.11.2.
    assert (
        press_reader.boxes_mm(press["lid-60"])
        == [[[0, 0, 76, 76], [6, 6, 70, 70], [8, 8, 68, 68]]] * 2
    )
    assert press_reader.boxes_mm(press["100x70"]) == [
        [[0, 0, 116, 86], [6, 6, 110, 80], [8, 8, 108, 78]]
    ]
    assert "Net wt." in paper.text(press["lid-60"])


@pytest.mark.parametrize("has_artwork", [False, True])
def test_press_file_is_told_in_four_inks_with_black_words_in_faces_that_are_inside(
    hostile: Artwork, *, has_artwork: bool
) -> None:
    # PDF/X-1a (ISO 15930-1), from memory: no colour but that of inks, every face inside.
    drawn = draw(labelled(), BY_KEY["100x70"])
    logo = Artwork(cleaned_svg(HARE + b"</svg>"), SVG)
    dress = Dress(Look(), 60, hostile, None, logo) if has_artwork else Dress(Look(), 60)

    press = press_pdf(drawn.words, drawn.frame, dress)

    spaces = press_reader.colour_spaces(press)
    # No red, green and blue, no profile, no spot colour: a gradient is a pattern of the inks.
    assert spaces == ({"/DeviceCMYK"} if has_artwork else set())
    chosen, words = press_reader.inks(press)
    assert chosen == {"k", "K", "cs", "scn"} if has_artwork else chosen == {"k", "K"}
    assert words == {("k", "0", "0", "0", "1")}
    faces = press_reader.faces(press)
    assert len(faces) == 3
    assert all(faces.values())


def test_reader_of_press_files_sees_what_it_looks_for() -> None:
    # The file of a label printer is in red, green and blue, as no print shop wants it.
    label = labelled()
    drawn = draw(label, BY_KEY["100x70"], art=Art(product=label.product, dark="#a00000"))

    chosen, words = press_reader.inks(drawn.pdf)

    assert "rg" in chosen
    assert words == {("rg", "0", "0", "0")}
    assert "/Lab" in press_reader.colour_spaces(drawn.pdf)
    assert press_reader.faces(canvas_of("Courier")) == {"/Courier": False}


def canvas_of(face: str) -> bytes:
    """A page with one word in a face that is not inside it."""
    with pikepdf.new() as pdf:
        page = pdf.add_blank_page()
        font = pikepdf.Dictionary(
            Type=pikepdf.Name.Font, Subtype=pikepdf.Name.Type1, BaseFont=pikepdf.Name(f"/{face}")
        )
        fonts = pikepdf.Dictionary(F=pdf.make_indirect(font))
        page.obj.Resources = pikepdf.Dictionary(Font=fonts)
        page.obj.Contents = pdf.make_stream(b"BT /F 9 Tf (Balm) Tj ET")
        written = io.BytesIO()
        pdf.save(written)
    return written.getvalue()


def test_how_sharp_artwork_prints_is_told_for_each_size() -> None:
    lid, tag = (frame for key in ("lid-60", "100x70") for frame in [next(frames(BY_KEY[key]))])
    rough, sharp = (Artwork(picture_of(wide, 200).content, "image/png") for wide in (400, 1000))
    hare = Artwork(cleaned_svg(HARE + b"</svg>"), SVG)

    # A lid with its bleed is 64 mm across; of a picture 200 dots high each is 0.32 mm.
    assert rough.dots_an_inch(64, 64) == 79
    (dots, cut) = art_notes(lid, Dress(Look(), 60, rough))
    assert "at 79 dots an inch on 60 mm across; below 150" in dots
    assert "64 × 64 mm, with 2 mm over the edge; 50% of it is cut away" in cut
    assert art_notes(tag, Dress(Look(), 60, sharp, None, hare)) == (
        "On 100 × 70 mm the artwork fills 104 × 11 mm, with 2 mm over the edge; 47% of it is cut "
        "away. Draw it in that shape, and keep what matters 4 mm from its edges.",
    )
    with pytest.raises(ActionRefused, match="244 dots an inch on 100 × 70 mm; below 250"):
        refuse_rough(tag, Dress(Look(), 60, sharp))
    back = replace(tag, outer=replace(tag.outer, carries=Carries.INFORMATION))
    assert (Dress(Look(), 60, rough).artwork_on(back.outer), art_notes(bare(back.outer), Dress(
        Look(), 60, None, rough, hare
    ))) == (None, (
        "On 100 × 70 mm the words need all the room, so the artwork is left out.",
        "On 100 × 70 mm there is no room for the logo 2 mm from the edge, so it is left out.",
    ))  # fmt: skip


@pytest.mark.parametrize("size", ["lid-50", "lid-70", "100x70", "wrap-150x45"])
@pytest.mark.parametrize("sides", [(60, 30), (10, 30), (90, 9)])
def test_logo_stands_whole_two_millimetres_and_more_from_the_trim(
    size: str, sides: tuple[int, int]
) -> None:
    drawing = HARE.replace(b"0 0 60 30", b"0 0 %d %d" % sides) + b"</svg>"
    dress = Dress(Look(), 60, None, None, Artwork(cleaned_svg(drawing), SVG))
    frame = next(frames(BY_KEY[size]))
    box = logo_box(frame, dress)

    if box is not None:
        x, y, wide, high = box
        assert min(x, y) >= 2
        assert wide / high == pytest.approx(sides[0] / sides[1])
        if frame.kind == "ring":
            r = float(frame.outer.width_mm) / 2
            assert max(hypot(x - r, y - r), hypot(x + wide - r, y - r)) <= r - 1.99
            # Nor does it reach the ground of the words, which would cut it off.
            assert r - y - high >= r - float(frame.left_mm)


picture_bomb = b"".join(
    b'<g id="u%d">%s</g>' % (at, b'<use xlink:href="#u%d"/>' % (at - 1) * 10 if at else b"")
    for at in range(12)
)


@pytest.mark.parametrize(
    ("inside", "said"),
    [
        (b"<text>Hare</text>", "letters as text"),
        (b'<image href="http://example.org/a.png"/>', "a picture in it"),
        (picture_bomb + b'<use href="#u11"/>', "more than 20,000 parts"),
        (b"<g>" * 90 + b"</g>" * 90, "more than 60 deep"),
        (b'<g id="l"><use href="#l"/></g>', "refers to itself"),
        (b"<filter/>", "an effect"),
        (b"<path d='" + b"M0 0L9 9" * 60_000 + b"'/>", "at most 400 kB"),
        (b"<g>", "may be damaged"),
        (b"\xff", "not written in UTF-8"),
    ],
)
def test_hostile_or_heavy_drawing_is_refused_with_a_sentence(inside: bytes, said: str) -> None:
    with pytest.raises(Unfit, match=said):
        cleaned_svg(HARE + inside + b"</svg>")


def test_drawing_with_entities_or_without_a_size_is_refused() -> None:
    with pytest.raises(Unfit, match="entities of its own"):
        cleaned_svg(b'<!DOCTYPE svg [<!ENTITY a "b">]>' + HARE + b"</svg>")
    for sized in (b'viewBox="0 0 0 1"', b'width="100%"', b'viewBox="0 0 500 2"'):
        with pytest.raises(Unfit, match=r"how large it is|as long as"):
            cleaned_svg(HARE.replace(b'viewBox="0 0 60 30"', sized) + b"</svg>")
    with pytest.raises(Unfit, match="no drawing in it"):
        cleaned_svg(b'<svg viewBox="0 0 9 9"><script>x()</script></svg>')


def test_drawing_keeps_shapes_and_colours_and_nothing_that_acts_or_asks_outside() -> None:
    sly = (
        b"<style>@import url(http://a/);.a{fill:#123;background:url(http://b/)}</style>"
        b'<script>x()</script><foreignObject><p>q</p></foreignObject><a xlink:href="http://c/">'
        b'<path class="a" onclick="x()" style="fill:url(http://d/);stroke:#456" d="M0 0H1"/></a>'
        b'<use xlink:href="http://e/#p"/><path fill="u\\72l(http://f/)" d="M1 1H2"/></svg>'
    )

    clean = cleaned_svg(HARE + sly).decode()

    assert not re.search(r"script|http:(?!//www\.w3\.org/2000/svg)|onclick|import|foreign", clean)
    assert "{fill:#123}" in clean
    assert 'style="stroke:#456"' in clean
    assert clean.count("<path") == 3


def test_artwork_is_looked_into_apart_and_a_pdf_becomes_a_picture() -> None:
    page = io.BytesIO()
    Image.new("RGB", (90, 60), "#336699").save(page, "PDF", resolution=72)

    kept = checked_artwork("art.pdf", io.BytesIO(page.getvalue()))

    assert (kept.name, kept.content_type) == ("art.png", "image/png")
    assert Artwork(kept.content, kept.content_type).size == pytest.approx((750, 500), abs=1)
    photograph = io.BytesIO()
    Image.effect_noise((750, 750), 90).convert("RGB").save(photograph, "PDF", resolution=300)
    taken = checked_artwork("art.pdf", io.BytesIO(photograph.getvalue()))
    assert taken.content_type == "image/jpeg"
    assert len(taken.content) <= 3_000_000
    with pytest.raises(ActionRefused, match="may be damaged"):
        checked_artwork("art.pdf", io.BytesIO(b"%PDF-1.7 no"))
    # Only artwork may be a drawing: a certificate may not.
    with pytest.raises(ActionRefused, match="Only a PDF, a JPEG or a PNG"):
        checked_file("certificate.svg", io.BytesIO(HARE + b"</svg>"))


def picture_of(wide: int, high: int) -> CheckedFile:
    written = io.BytesIO()
    Image.new("RGB", (wide, high), "#336699").save(written, format="PNG")
    return CheckedFile("art.png", written.getvalue(), "image/png")


def test_art_is_kept_and_what_would_print_badly_is_refused() -> None:
    product, owner = labelled().product, make.user(Role.OWNER)
    look = {"kind": "grain", "dark": "#402010", "middle": "#805030", "light": "#c0a080"}

    files = {"artwork": picture_of(900, 600), "logo": picture_of(300, 100)}
    save_art(product, look, files=files, by=owner, at=make.NOON)

    kept = Art.objects.get()
    assert (kept.kind, kept.artwork is None, kept.logo is None) == ("grain", False, False)
    for field in ("artwork", "back_artwork"):
        with pytest.raises(ActionRefused, match="needs at least 600") as refused:
            save_art(product, look, files={field: picture_of(300, 300)}, by=owner, at=make.NOON)
        assert refused.value.field == field
    with pytest.raises(ActionRefused, match="contrast of"):
        save_art(product, {"ground": "#224466"}, by=owner, at=make.NOON)
    with pytest.raises(ActionRefused, match="Only an owner"):
        save_art(product, look, by=make.user(Role.PACKER), at=make.NOON)
    save_art(art_of(product).product, look, without=["artwork"], by=owner, at=make.NOON)
    kept = Art.objects.get()
    assert (kept.artwork is None, kept.logo is None) == (True, False)


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
    logo = SimpleUploadedFile("l.svg", HARE + b"<script>x()</script></svg>")
    assert client.post(address, look | {"artwork": art, "logo": logo}).status_code == 302
    kept = Art.objects.get()
    assert kept.kind == "stem"
    assert kept.logo is not None
    with kept.logo.file.open("rb") as file:
        assert file.read() == cleaned_svg(HARE + b"</svg>")
    letters = SimpleUploadedFile("l.svg", HARE + b"<text>Hare</text></svg>")
    form = ArtForm(look | {"without": ["artwork"]}, {"logo": letters}, art=kept)
    assert "letters as text. Turn them into paths" in str(form.errors["logo"])
    assert form.taken_off() == ["artwork"]
    press = client.get(reverse("labels:press", args=[label.lot.code]), {"layout": "lid-60"})
    assert press["Content-Type"] == "application/pdf"
