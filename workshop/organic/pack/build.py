"""A pack is made in steps, each short, so that the page can say how far it is.

What is to be done and what is done stands in a folder of the job; its archive grows on the disk, so
that a long pack takes little memory. A step that broke off is begun again.
"""

import json
import re
import shutil
import zipfile
from collections.abc import Iterable
from dataclasses import asdict, dataclass, field
from datetime import date, datetime
from hashlib import sha256
from io import BytesIO
from pathlib import Path
from typing import Any

import pikepdf
from django.conf import settings
from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

from workshop.core.models import Upload, User, Workshop
from workshop.core.paper.pdf import pdf
from workshop.goods_in.models import Certificate, SupplierReview
from workshop.kettle.record.paper import record_pdfs
from workshop.ledger.models import Item, Lot, OperationKind
from workshop.ledger.proof.chain_head import head
from workshop.materials.models import OrganicStatus
from workshop.organic.balance.export import workbook
from workshop.organic.balance.overview import overview
from workshop.organic.balance.query import Period
from workshop.organic.balance.statement import statement
from workshop.organic.models import Pack
from workshop.organic.pack.audit_trail import trail
from workshop.organic.pack.sections import SECTIONS, Section, batches_of
from workshop.organic.pack.tables import Cell, Table, text
from workshop.organic.services import record_pack
from workshop.rules.organic.random_sample import drawn
from workshop.trace.exports.report import report_pdf
from workshop.trace.lot.query import trace

DRAWN = 3
AT_ONCE = 10  # batch records in one step
PAPER = "pack.pdf"
CHUNK = 1 << 20


@dataclass
class Job:
    """A pack being made: what it is of, which steps there are and how many are done."""

    token: str
    first: str
    last: str
    seed: str
    drawn: list[str]
    chosen: list[str]
    steps: list[str]
    done: int = 0
    # Parts of the paper: title, rules, number of pages.
    parts: list[tuple[str, list[str], int]] = field(default_factory=list)

    @property
    def period(self) -> Period:
        return Period(date.fromisoformat(self.first), date.fromisoformat(self.last))

    @property
    def percent(self) -> int:
        return 100 * self.done // len(self.steps)

    @property
    def is_finished(self) -> bool:
        return self.done >= len(self.steps)

    @property
    def next_step(self) -> str:
        return "" if self.is_finished else self.steps[self.done].partition(":")[0]


def folder() -> Path:
    found = Path(settings.DATA_DIR) / "packs"
    found.mkdir(parents=True, exist_ok=True)
    return found


def _place(token: str) -> Path:
    return folder() / f"job-{token}"


def archive_of(pack: Pack) -> Path:
    """Where the file of a pack lies, as long as it is kept."""
    return folder() / f"{pack.sha256}.zip"


def begin(token: str, period: Period, *, seed: str, chosen: Iterable[Lot]) -> Job:
    """Draw the lots, list the steps, and make the folder of the job."""
    codes = packed_in(period)
    found = drawn(codes, seed, DRAWN)
    asked = [lot.shown_code for lot in chosen]
    traced = list(dict.fromkeys([*found, *asked]))
    batches = batches_of(period).count()
    steps = [
        *(f"section:{section.key}" for section in SECTIONS),
        *(f"balance:{row.item.code}" for row in overview(period, "organic")),
        *(f"batches:{start}" for start in range(0, batches, AT_ONCE)),
        *(f"trace:{code}" for code in traced),
        "files:0",
        "finish:0",
    ]
    job = Job(token, f"{period.first}", f"{period.last}", seed, found, asked, steps)
    _place(token).mkdir(exist_ok=True)
    _keep(job)
    return job


def packed_in(period: Period) -> list[str]:
    """The finished lots packed in the period: what is drawn from."""
    lots = Lot.objects.filter(
        origin__kind=OperationKind.PACKING, made_on__range=(period.first, period.last)
    )
    return [lot.shown_code for lot in lots.order_by("code")]


def _keep(job: Job) -> None:
    place = _place(job.token) / "job.json"
    beside = place.with_suffix(".new")
    beside.write_text(json.dumps(asdict(job)), encoding="utf-8")
    beside.replace(place)


def job_of(token: str) -> Job | None:
    """The job of a token, if it is not finished and put away."""
    if not re.fullmatch(r"[\w-]{1,64}", token):
        return None
    try:
        kept = json.loads((_place(token) / "job.json").read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return Job(**kept)


def step(job: Job, *, by: User, at: datetime) -> Pack | None:
    """Do the next step; the last one answers with the pack, sealed."""
    kind, _, what = job.steps[job.done].partition(":")
    made = None
    if kind == "finish":
        made = _finish(job, by=by, at=at)
    else:
        STEPS[kind](job, what, by, at)
    job.done += 1
    if made is None:
        _keep(job)
    else:
        shutil.rmtree(_place(job.token), ignore_errors=True)
    return made


def _section(job: Job, key: str, by: User, at: datetime) -> None:
    section = next(one for one in SECTIONS if one.key == key)
    tables = list(section.tables(job.period))
    number = job.done + 1
    _add(job, f"spreadsheets/{number:02}-{key}.xlsx", _spreadsheet(tables))
    _add_paper(job, section.title, section.rules, _section_pdf(section, tables, job, by, at))


def _section_pdf(section: Section, tables: list[Table], job: Job, by: User, at: datetime) -> bytes:
    shown = [
        {"title": one.title, "heads": one.heads, "words": one.words,
         "rows": [[text(cell) for cell in row] for row in one.rows]}
        for one in tables
    ]  # fmt: skip
    context = {"section": section, "tables": shown, "job": job, "by": by, "at": at}
    return pdf("organic/print/section.html", context)


def _spreadsheet(tables: list[Table]) -> bytes:
    book = Workbook(write_only=True)
    for number, table in enumerate(tables, 1):
        sheet = book.create_sheet(f"{number} {re.sub(r'[^A-Za-z0-9 ]', '', table.title)}"[:31])
        sheet.append([WriteOnlyCell(sheet, head) for head in table.heads])
        for row in table.rows:
            sheet.append([_as_text(sheet, value) for value in row])
    out = BytesIO()
    book.save(out)
    return out.getvalue()


def _as_text(sheet: Any, value: Cell) -> Any:
    if not isinstance(value, str):
        return value
    cell = WriteOnlyCell(sheet, ILLEGAL_CHARACTERS_RE.sub("", value))
    cell.data_type = "s"
    return cell


def _balance(job: Job, code: str, by: User, at: datetime) -> None:
    item = Item.objects.get(code=code)
    one = statement(item, job.period, is_organic=True)
    context = {"statements": [one], "workshop": Workshop.objects.first(), "by": by, "at": at}
    _add(job, f"balances/{code}.xlsx", workbook(one))
    made = pdf("organic/print/balances.html", context)
    _add_paper(job, f"Balance of {item}", ("205.403(d)(4)",), made)


def _batches(job: Job, start: str, by: User, at: datetime) -> None:
    batches = list(batches_of(job.period)[int(start) : int(start) + AT_ONCE])
    names = (f"batch-records/{one}.pdf" for one in batches)
    _add_all(job, zip(names, record_pdfs(batches, by=by, at=at), strict=True))


def _trace(job: Job, code: str, by: User, at: datetime) -> None:
    lot = Lot.objects.select_related("item").get(code=code.replace("-", ""))
    found = trace(lot)
    how = "drawn" if code in job.drawn else "chosen"
    rules = ("205.403(d)(5)", "205.103(b)(2)")
    _add_paper(job, f"Trace-back of {code}, {how}", rules, report_pdf(found, by=by, at=at))
    section = Section("trail", f"Five papers of {code}", rules, lambda _: [trail(found)])
    tables = [trail(found)]
    _add(job, f"spreadsheets/audit-trail-{code}.xlsx", _spreadsheet(tables))
    _add_paper(job, section.title, rules, _section_pdf(section, tables, job, by, at))


def _files(job: Job, _: str, by: User, at: datetime) -> None:
    """The files themselves: certificates, evidence, questionnaires."""
    del by, at
    keys = {
        *Certificate.objects.values_list("document", flat=True),
        *OrganicStatus.objects.values_list("evidence", flat=True),
        *SupplierReview.objects.values_list("document", flat=True),
    }
    uploads = Upload.objects.filter(pk__in=[key for key in keys if key]).order_by("pk")
    _add_all(job, map(_file_of, uploads.iterator()))


def _file_of(upload: Upload) -> tuple[str, bytes]:
    try:
        with upload.file.open("rb") as kept:
            return f"files/{upload.pk}-{Path(upload.name).name}", kept.read()
    except OSError:
        return f"files/{upload.pk}-missing.txt", b"The file is not where the book has it."


STEPS = {
    "section": _section, "balance": _balance, "batches": _batches, "trace": _trace,
    "files": _files,
}  # fmt: skip


def _add(job: Job, name: str, content: bytes) -> None:
    _add_all(job, [(name, content)])


def _add_all(job: Job, files: Iterable[tuple[str, bytes]]) -> None:
    """Files into the archive, but for those that a step that broke off had put there."""
    with zipfile.ZipFile(_place(job.token) / "pack.zip", "a", zipfile.ZIP_DEFLATED) as archive:
        known = set(archive.namelist())
        for name, content in files:
            if name not in known:
                archive.writestr(name, content)


def _add_paper(job: Job, title: str, rules: Iterable[str], content: bytes) -> None:
    number = len(job.parts)
    (_place(job.token) / f"part-{number:03}.pdf").write_bytes(content)
    with pikepdf.open(BytesIO(content)) as document:
        job.parts.append((title, list(rules), len(document.pages)))


def _finish(job: Job, *, by: User, at: datetime) -> Pack:
    place = _place(job.token)
    paper = place / PAPER
    _merge(job, paper, by, at)
    archive = place / "pack.zip"
    with zipfile.ZipFile(archive, "a", zipfile.ZIP_DEFLATED) as opened:
        if PAPER not in opened.namelist():
            opened.write(paper, PAPER)
        count = len(opened.namelist())
    newest = head()
    pack = record_pack(
        first=job.first, last=job.last, seed=job.seed, drawn=job.drawn, chosen=job.chosen,
        file_count=count, size=archive.stat().st_size, sha256=digest_of(archive),
        paper_sha256=digest_of(paper), head=newest.line if newest else "",
        by=by, at=at, token=job.token,
    )  # fmt: skip
    shutil.move(archive, archive_of(pack))
    return pack


def digest_of(path: Path) -> str:
    digest = sha256()
    with path.open("rb") as file:
        while block := file.read(CHUNK):
            digest.update(block)
    return digest.hexdigest()


def _merge(job: Job, paper: Path, by: User, at: datetime) -> None:
    """All parts behind an index by rule number, with the page on which each begins."""
    pages = _pages_of(_index(job, 0, by, at))
    index = _index(job, pages, by, at)
    with pikepdf.new() as whole:
        with pikepdf.open(BytesIO(index)) as first:
            whole.pages.extend(first.pages)
        for number in range(len(job.parts)):
            with pikepdf.open(_place(job.token) / f"part-{number:03}.pdf") as part:
                whole.pages.extend(part.pages)
        whole.save(paper, deterministic_id=True)


def _pages_of(content: bytes) -> int:
    with pikepdf.open(BytesIO(content)) as document:
        return len(document.pages)


def _index(job: Job, before: int, by: User, at: datetime) -> bytes:
    begins, rows = before + 1, []
    for title, rules, count in job.parts:
        rows += [(rule, title, begins) for rule in rules]
        begins += count
    context = {
        "job": job, "period": job.period, "rows": sorted(rows, key=_by_rule), "by": by, "at": at,
        "workshop": Workshop.objects.first(), "codes": len(packed_in(job.period)), "head": head(),
    }  # fmt: skip
    return pdf("organic/print/index.html", context)


def _by_rule(row: tuple[str, str, int]) -> tuple[list[int], str, int]:
    return [int(figure) for figure in re.findall(r"\d+", row[0])], row[0], row[2]
