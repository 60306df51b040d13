"""The two typefaces of screen and paper: where their packages keep them, small ones for the web.

    python -m workshop.core.paper.typefaces static/type

A web font is cut down to the letters of European languages and the signs of the trade; what it has
not, the browser takes from the next family. Paper takes the whole files: it keeps what it uses.
"""

import shutil
import sys
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

from fontTools.subset import Options, Subsetter
from fontTools.ttLib import TTFont

# Latin with its accents (Unicode blocks Basic Latin to Latin Extended-A), punctuation and signs.
LETTERS = [*range(0x20, 0x7F), *range(0xA0, 0x180)]
SIGNS = [ord(sign) for sign in "\u2007\u202f–—‘’‚“”„†•…‰′″€™−≈≠≤≥←↑→↓μΔ₀₁₂₃₄"]
FEATURES = ["kern", "liga", "mark", "mkmk", "ccmp", "locl", "tnum", "lnum"]
FAMILY, SUBFAMILY, FULL, POSTSCRIPT = 1, 2, 4, 6  # numbers of the table "name" (OpenType)
COPYRIGHT, LICENCE, LICENCE_ADDRESS = 0, 13, 14


@dataclass(frozen=True)
class Face:
    """One weight of one family, in the package that holds it."""

    name: str
    family: str
    weight: int
    package: str
    file: str

    @property
    def path(self) -> Path:
        return Path(str(files(self.package))) / "files" / self.file


FACES = (
    Face("sans-400", "Book Sans", 400, "font_source_sans_pro", "SourceSansPro-Regular.ttf"),
    Face("sans-600", "Book Sans", 600, "font_source_sans_pro", "SourceSansPro-Semibold.ttf"),
    Face("serif-600", "Book Serif", 600, "font_source_serif_pro", "SourceSerifPro-Semibold.ttf"),
)


def make_web_fonts(folder: Path) -> list[Path]:
    """Write each face as WOFF2 into `folder`, with the licence of its package beside it."""
    folder.mkdir(parents=True, exist_ok=True)
    for face in FACES:
        licence = face.path.with_name("LICENSE.txt")
        shutil.copyfile(licence, folder / f"{face.name.partition('-')[0]}-licence.txt")
    return [_web_font(face, folder / f"{face.name}.woff2") for face in FACES]


def _web_font(face: Face, path: Path) -> Path:
    options = Options()
    options.flavor, options.hinting = "woff2", False
    options.layout_features = FEATURES
    options.name_IDs = [COPYRIGHT, LICENCE, LICENCE_ADDRESS]
    with TTFont(face.path, recalcTimestamp=False) as font:
        cut = Subsetter(options)
        cut.populate(unicodes=[*LETTERS, *SIGNS])
        cut.subset(font)
        _name(font, face)
        font.flavor = "woff2"
        font.save(path)
    return path


def _name(font: TTFont, face: Face) -> None:
    """The licence (SIL OFL 1.1, clause 3) keeps the family's own name for the unchanged files."""
    plain = face.family.replace(" ", "") + f"-{face.weight}"
    names = {FAMILY: face.family, SUBFAMILY: "Regular", FULL: plain, POSTSCRIPT: plain}
    for number, text in names.items():
        font["name"].setName(text, number, 3, 1, 0x409)


if __name__ == "__main__":
    make_web_fonts(Path(sys.argv[1]))
