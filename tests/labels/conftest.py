"""What tests of labels share."""

import io

import pytest
from PIL import Image

from workshop.labels.art.artwork import Artwork


@pytest.fixture(scope="session")
def hostile() -> Artwork:
    """Blots of every colour, letters' size, over everything."""
    picture = Image.effect_noise((900, 900), 200).convert("RGB").quantize(6).convert("RGB")
    written = io.BytesIO()
    picture.save(written, format="PNG")
    return Artwork(written.getvalue(), "image/png", is_ground=True)
