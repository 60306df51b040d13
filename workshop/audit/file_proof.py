"""Files that were handed in: each is on the disk, as it was when it came."""

import hashlib

from workshop.core.models import Upload
from workshop.ledger.proof.findings import Finding

BLOCK = 1024 * 1024


def check_files() -> Finding:
    """Every file that a row names is there, of the size and with the SHA-256 of that row."""
    finding = Finding("every file that was handed in is there unchanged")
    for upload in Upload.objects.order_by("pk").iterator():
        finding.looked_at += 1
        sentence = _fault(upload)
        if sentence:
            finding.add(f"File {upload.name} ({upload.file.name}) {sentence}")
    return finding


def _fault(upload: Upload) -> str:
    try:
        size, digest = _measured(upload)
    except OSError:
        return "is missing, or cannot be read."
    if size != upload.size:
        return f"has {size} bytes, not {upload.size}."
    return "" if digest == upload.sha256 else "is not the file that was handed in."


def _measured(upload: Upload) -> tuple[int, str]:
    size, digest = 0, hashlib.sha256()
    with upload.file.storage.open(upload.file.name) as file:
        while block := file.read(BLOCK):
            size += len(block)
            digest.update(block)
    return size, digest.hexdigest()
