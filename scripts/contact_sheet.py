"""Photographs every page of a small demonstration at three widths, light and dark, and every paper.

Run by `make contact-sheet`. One page of each kind of address is visited as the owner, and sign-in
as nobody; what comes out stands in contact-sheet/, which git does not keep: a picture of each page
with its name, and sheets of many beside one another to be looked over.
"""

import re
import shutil
import sys
import tempfile
from collections import Counter, deque
from collections.abc import Iterator
from html import unescape
from io import BytesIO
from pathlib import Path
from typing import Literal
from urllib.parse import urldefrag, urljoin, urlsplit

import pypdfium2
from PIL import Image, ImageDraw
from playwright.sync_api import Browser, Page, sync_playwright

PROJECT = Path(__file__).resolve().parent.parent
SHEETS = PROJECT / "contact-sheet"
sys.path.insert(0, str(PROJECT))

from scripts.screenshots import found, served, sign_in  # noqa: E402  no installed package
from tests.browser.conftest import QUIET, SLOW_MS, chromium  # noqa: E402  no installed package

WIDTHS = {"desk": (1280, 800), "tablet": (1024, 768), "phone": (390, 844)}
SCHEMES: tuple[Literal["light", "dark"], ...] = ("light", "dark")
SIGN_IN = "/sign-in/"
NAMED_AFTER = ("heading", "postings")  # what follows in an address names one of many alike
READ_OF_A_KIND = 3  # pages of which the links are followed; the first is photographed
LEFT_OUT = ("/sign-out/", "/export/", ".zip", ".xlsx", ".csv", ".json", "/scan/", "as=")
TALLEST = 3.2  # of a page, in widths: what is below is left out of a sheet
THUMB, GAP, HEAD, ACROSS = 360, 12, 22, 4


def main() -> None:
    browser = chromium()
    if browser is None:
        sys.exit("No Chromium found: install the package chromium.")
    with (
        tempfile.TemporaryDirectory() as data,
        served(data) as (address, told),
        sync_playwright() as playwright,
    ):
        opened = playwright.chromium.launch(executable_path=browser, args=QUIET)
        take_all(opened, address, found(r"^  odile +(\S+)", told))
        opened.close()


def take_all(browser: Browser, address: str, password: str) -> None:
    """Finds every page and paper from Today on, photographs them, and lays out the sheets."""
    shutil.rmtree(SHEETS, ignore_errors=True)
    SHEETS.mkdir()
    page = signed_in(browser, address, password)
    stranger = new_page(browser, address)
    pages, papers = every_page(page, address)
    print(f"{len(pages)} pages, {len(papers)} papers", flush=True)
    lay_out("papers", [one for name, path in papers.items() for one in print_of(page, name, path)])
    sheets: dict[str, list[tuple[str, Image.Image]]] = {}
    for number, (name, path) in enumerate(pages.items(), start=1):
        print(f"{number} of {len(pages)}: {path}", flush=True)
        for sheet, shot in photographs(stranger if path == SIGN_IN else page, path):
            (SHEETS / f"{name}-{sheet}.jpg").write_bytes(shot)
            picture = Image.open(BytesIO(shot)).convert("RGB")
            sheets.setdefault(sheet, []).append((name, small(picture)))
    for sheet, pictures in sheets.items():
        lay_out(sheet, pictures)


def signed_in(browser: Browser, address: str, password: str) -> Page:
    page = new_page(browser, address)
    sign_in(page, "odile", password)
    return page


def new_page(browser: Browser, address: str) -> Page:
    page = browser.new_context(base_url=address).new_page()
    page.set_default_timeout(SLOW_MS)
    return page


def every_page(page: Page, address: str) -> tuple[dict[str, str], dict[str, str]]:
    """One address of each kind, by its name: pages, and what comes as a PDF."""
    pages: dict[str, str] = {}
    papers: dict[str, str] = {}
    read: Counter[str] = Counter()
    asked: set[str] = set()
    waiting = deque(["/", SIGN_IN, "/set-up/looks/"])
    while waiting:
        path = waiting.popleft()
        kind = kind_of(path)
        if path in asked or read[kind] == READ_OF_A_KIND or any(word in path for word in LEFT_OUT):
            continue
        asked.add(path)
        read[kind] += 1
        answer = page.request.get(urljoin(address, path), timeout=SLOW_MS * 6)
        content = answer.headers.get("content-type", "")
        if "attachment" in answer.headers.get("content-disposition", ""):
            continue  # a file to be kept, nothing to look at
        if answer.ok and content.startswith("application/pdf"):
            papers.setdefault(kind, path)
        elif answer.ok and content.startswith("text/html"):
            pages.setdefault(kind, path)
            waiting.extend(links_of(answer.text(), urljoin(address, path), address))
    return pages, papers


def links_of(text: str, here: str, address: str) -> Iterator[str]:
    """Where the links of a page lead, as far as they stay in the book."""
    for link in re.findall(r'<a\b[^>]*?\shref="([^"]+)"', text):
        whole, _ = urldefrag(urljoin(here, unescape(link)))
        if whole.startswith(address):
            yield whole.removeprefix(address)


def kind_of(path: str) -> str:
    """The address with what names one thing left out, so that one of each kind is visited."""
    parts = [part for part in urlsplit(path).path.strip("/").split("/") if part]
    before = ["", "", *parts]
    trios = zip(before, before[1:], parts, strict=False)
    return "-".join("x" if is_name(*trio) else trio[2] for trio in trios) or "today"


def is_name(two_before: str, before: str, part: str) -> bool:
    stem = part.partition(".")[0]
    is_code = any(letter.isdigit() or letter.isupper() for letter in stem)
    return is_code or before in NAMED_AFTER or two_before == "balance"


def photographs(page: Page, path: str) -> Iterator[tuple[str, bytes]]:
    """One visit, at every width and in both schemes."""
    page.goto(path, wait_until="load")
    for width, (across, down) in WIDTHS.items():
        page.set_viewport_size({"width": across, "height": down})
        for scheme in SCHEMES:
            page.emulate_media(color_scheme=scheme)
            yield (
                f"{width}-{scheme}",
                page.screenshot(full_page=True, animations="disabled", type="jpeg", quality=82),
            )


def print_of(page: Page, name: str, path: str) -> Iterator[tuple[str, Image.Image]]:
    """The first two pages of a paper."""
    document = pypdfium2.PdfDocument(page.request.get(path, timeout=SLOW_MS * 6).body())
    for number in range(min(len(document), 2)):
        yield f"{name}, {number + 1}", document[number].render(scale=1.6).to_pil().convert("RGB")


def lay_out(name: str, pictures: list[tuple[str, Image.Image]]) -> None:
    """Pictures beside one another, their names above them, as many sheets as it takes."""
    per_sheet = 2 * ACROSS
    for start in range(0, len(pictures), per_sheet):
        rows = pictures[start : start + per_sheet]
        thumbs = [(title, small(picture)) for title, picture in rows]
        height = max(thumb.height for _, thumb in thumbs) + HEAD + GAP
        sheet = Image.new("RGB", (ACROSS * (THUMB + GAP), 2 * height), "#777")
        draw = ImageDraw.Draw(sheet)
        for place, (title, thumb) in enumerate(thumbs):
            x, y = (place % ACROSS) * (THUMB + GAP), (place // ACROSS) * height
            draw.text((x + 4, y + 4), title, fill="#fff")
            sheet.paste(thumb, (x, y + HEAD))
        sheet.save(SHEETS / f"sheet-{name}-{start // per_sheet + 1:02}.png")


def small(picture: Image.Image) -> Image.Image:
    tall = min(picture.height, int(picture.width * TALLEST))
    cut = picture.crop((0, 0, picture.width, tall))
    return cut.resize((THUMB, max(1, round(tall * THUMB / picture.width))))


if __name__ == "__main__":
    main()
