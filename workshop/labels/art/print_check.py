"""Whether a product's artwork and logo print well on a label of one size."""

from collections.abc import Iterable

from workshop.core.errors import ActionRefused
from workshop.labels.art.artwork import LEAST_DPI, MOST_CUT, PRESS_DPI, Artwork
from workshop.labels.art.drawing import Dress, filled_by, logo_box
from workshop.labels.art.frame import Frame


def art_notes(frame: Frame, dress: Dress) -> tuple[str, ...]:
    """What an owner should know before it is printed, a sentence each."""
    return (*too_rough(frame, dress), *_out_of_place(frame, dress))


def too_rough(frame: Frame, dress: Dress, least_dpi: int = LEAST_DPI) -> Iterable[str]:
    """Pictures with too few dots for their size on paper."""
    for name, found in _sharpness(frame, dress):
        if found is not None and found < least_dpi:
            yield (
                f"The {name} prints at {found} dots an inch on {frame.outer.size}; below "
                f"{least_dpi} it looks rough. Hand in a larger picture, or an SVG."
            )


def refuse_rough(frame: Frame, dress: Dress) -> None:
    """Raises ActionRefused for what would come rough from a press."""
    for sentence in too_rough(frame, dress, PRESS_DPI):
        raise ActionRefused(sentence)


def _sharpness(frame: Frame, dress: Dress) -> Iterable[tuple[str, int | None]]:
    picture, filled = dress.artwork_on(frame.outer), filled_by(frame, dress)
    if picture and filled:
        yield "artwork", picture.dots_an_inch(*filled)
    box = logo_box(frame, dress)
    if dress.logo and box:
        yield "logo", dress.logo.dots_an_inch(*box[2:], whole=True)


def _out_of_place(frame: Frame, dress: Dress) -> Iterable[str]:
    size = frame.outer.size
    picture, filled = dress.artwork_on(frame.outer), filled_by(frame, dress)
    if picture and not filled:
        yield f"On {size} the words need all the room, so the artwork is left out."
    elif picture and filled and picture.cut_away(*filled) > MOST_CUT:
        yield _cut(picture, filled, size)
    if dress.logo and logo_box(frame, dress) is None:
        yield f"On {size} there is no room for the logo 2 mm from the edge, so it is left out."


def _cut(picture: Artwork, filled: tuple[float, float], size: str) -> str:
    wide, high = filled
    return (
        f"On {size} the artwork fills {wide:.0f} × {high:.0f} mm, with 2 mm over the edge; "
        f"{picture.cut_away(wide, high):.0%} of it is cut away. Draw it in that shape, and keep "
        "what matters 4 mm from its edges."
    )
