"""The file behind a product as a PDF, and as a ZIP with every document that belongs to it."""

import io
import zipfile
from collections.abc import Iterator

from workshop.core.errors import ActionRefused
from workshop.core.models import Upload
from workshop.core.paper.pdf import pdf
from workshop.dossier.contents import ProductFile
from workshop.dossier.shop import table_csv
from workshop.labels.approval.print_status import as_approved
from workshop.labels.content.label import label_for
from workshop.labels.layout.fit_to_label import draw
from workshop.labels.models import LabelVersion
from workshop.labels.services import usual_layout

EPOCH = (1980, 1, 1, 0, 0, 0)


def file_pdf(found: ProductFile) -> bytes:
    """The whole file as one paper, what is missing named on its first page."""
    return pdf("dossier/print/file.html", {"file": found, "facts": found.facts})


def file_zip(found: ProductFile) -> bytes:
    """The paper, its tables, the labels as approved, and the documents handed in."""
    written = io.BytesIO()
    with zipfile.ZipFile(written, "w", zipfile.ZIP_DEFLATED) as bundle:
        for name, content in _parts(found):
            bundle.writestr(zipfile.ZipInfo(name, EPOCH), content, zipfile.ZIP_DEFLATED)
    return written.getvalue()


def _parts(found: ProductFile) -> Iterator[tuple[str, bytes]]:
    yield "product-file.pdf", file_pdf(found)
    yield "index.csv", table_csv(_index(found))
    yield "composition.csv", table_csv(_composition(found))
    for label in found.facts.labels:
        picture = label_picture(label)
        if picture is not None:
            yield f"labels/{label.market}-{label.number}.pdf", picture
    for name, upload in _documents(found):
        with upload.file.open("rb") as file:
            yield name, file.read()


def _index(found: ProductFile) -> list[list[str]]:
    head = ["rule", "heading", "state", "missing"]
    rows = [
        [
            one.heading.rule,
            one.heading.title,
            "filled" if one.is_filled else "missing",
            one.missing,
        ]
        for one in found.sections
    ]
    return [head, *rows]


def _composition(found: ProductFile) -> list[list[str]]:
    head = ["name", "CAS number", "function", "per cent by weight", "organic"]
    rows = [
        [one.name, one.cas, one.function, f"{one.percent:f}", "yes" if one.is_organic else "no"]
        for one in found.facts.substances
    ]
    return [head, *rows]


def _documents(found: ProductFile) -> Iterator[tuple[str, Upload]]:
    """Every document once, in a folder of its heading."""
    for section in found.sections:
        for entry in section.entries:
            if entry.document:
                folder = f"documents/{section.heading.key}"
                yield f"{folder}/{entry.pk}-{entry.document.name}", entry.document
    for claim in found.facts.claims:
        if claim.proof and claim.proof.document:
            proof = claim.proof
            yield f"documents/claims/{proof.pk}-{proof.document}", claim.proof.document


def label_picture(version: LabelVersion) -> bytes | None:
    """The label as approved, on the lot it was made from; None where it cannot be drawn."""
    if version.made_from is None:
        return None
    try:
        label = as_approved(label_for(version.made_from, version.market), version)
        return draw(label, usual_layout(label)).pdf
    except ActionRefused:
        return None
