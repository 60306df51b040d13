"""A whole book leaves as one file and comes back the same, on whichever database."""

import csv
import io
import json
import os
import subprocess
import sys
import threading
import zipfile
from decimal import Decimal
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.db import connection

from tests import make
from tests.audit.whole_book import photo, whole_book
from tests.goods_in import build as goods
from tests.kept_database import address
from workshop.audit.all_checks import prove
from workshop.core.errors import ActionRefused
from workshop.core.models import Upload
from workshop.goods_in.models import Supplier
from workshop.ledger.models import Item, Posting
from workshop.ledger.proof.chain_head import head
from workshop.organic.pack.build import archive_of
from workshop.organic.services import record_pack
from workshop.rules.transfer.safe_cells import RISKY
from workshop.transfer.archive.write import archive
from workshop.transfer.services.restore import restore

pytestmark = pytest.mark.django_db(transaction=True)
Parts = dict[str, bytes]


def exported(folder: Path, name: str = "book.zip") -> Path:
    path = folder / name
    path.write_bytes(b"".join(archive()))
    return path


def parts(path: Path) -> Parts:
    with zipfile.ZipFile(path) as book:
        return {name: book.read(name) for name in book.namelist()}


def packed(path: Path, found: Parts) -> Path:
    with zipfile.ZipFile(path, "w") as book:
        for name, content in found.items():
            book.writestr(name, content)
    return path


def cells(found: Parts, table: str) -> list[dict[str, str]]:
    text = found[f"tables/{table}.csv"].decode()
    return list(csv.DictReader(io.StringIO(text, newline="")))


def changed(found: Parts, table: str, before: str, after: str) -> Parts:
    """The file with one word of one table changed, and its digest made to fit."""
    name, package = f"tables/{table}.csv", json.loads(found["datapackage.json"])
    content = found[name].replace(before.encode(), after.encode())
    assert content != found[name]
    for one in package["resources"]:
        if one["path"] == name:
            one["hash"] = f"sha256:{sha256(content).hexdigest()}"
    return {**found, name: content, "datapackage.json": json.dumps(package).encode()}


def test_book_comes_back_byte_for_byte_and_goes_on(tmp_path: Path) -> None:
    whole_book()
    before, path = head(), exported(tmp_path)

    back = restore(path, replace=True)

    assert [one for one in prove() if not one.is_sound] == []
    assert (head(), back.files) == (before, Upload.objects.count())
    assert exported(tmp_path, "again.zip").read_bytes() == path.read_bytes()
    known = Posting.objects.order_by("-pk")[0].pk
    assert make.lot().postings.get().pk > known
    assert [one for one in prove() if not one.is_sound] == []


def test_pack_of_an_inspection_comes_back_with_the_book(tmp_path: Path) -> None:
    content = b"a pack" * 300_000
    pack = record_pack(
        first=make.DAY, last=make.DAY, seed="s", drawn=[], chosen=[], file_count=1,
        size=len(content), sha256=sha256(content).hexdigest(), paper_sha256="0" * 64, head="",
        by=make.user(), at=make.NOON, token="pack",
    )  # fmt: skip
    archive_of(pack).write_bytes(content)
    path = exported(tmp_path)
    archive_of(pack).unlink()

    back = restore(path, replace=True)

    assert back.files == 1
    assert archive_of(pack).read_bytes() == content
    archive_of(pack).unlink()


def test_every_table_is_described_and_as_long_as_said(tmp_path: Path) -> None:
    """Frictionless Data, Table Schema version 2: names, types, keys."""
    whole_book()
    found = parts(exported(tmp_path))
    package = json.loads(found["datapackage.json"])

    for one in package["resources"]:
        rows = list(csv.reader(io.StringIO(found[one["path"]].decode(), newline="")))
        assert rows[0] == [field["name"] for field in one["schema"]["fields"]]
        assert len(rows) - 1 == one["rows"]
        assert one["hash"] == f"sha256:{sha256(found[one['path']]).hexdigest()}"
        assert one["schema"]["primaryKey"] == rows[0][0]
    named = {one["path"] for one in package["resources"]}
    assert named == {name for name in found if name.startswith("tables/")}
    assert "core_user" in {one["name"] for one in package["resources"]}
    assert found["head.txt"].decode().strip() == package["tarebook"]["head"]


ODD = [
    "=HYPERLINK(1)",
    "+43 1 2345",
    "-5 °C",
    "@home",
    "'tis",
    "''",
    " =1+1",
    "\t=1",
    "line one\r\n=line two",
    'a "quoted", comma',
    "＝１",
    "crème brûlée 🐝",
]


def test_texts_run_in_no_spreadsheet_and_come_back_letter_for_letter(tmp_path: Path) -> None:
    """OWASP, "CSV Injection": no cell begins with a letter that makes a formula of it."""
    for number, text in enumerate(ODD):
        Supplier.objects.create(name=f"Supplier {number}", address=text)
    path = exported(tmp_path)
    written = [row["address"] for row in cells(parts(path), "goods_in_supplier")]

    restore(path, replace=True)

    assert [cell for cell in written if cell.lstrip(" ").startswith(RISKY[:-1])] == []
    assert list(Supplier.objects.order_by("pk").values_list("address", flat=True)) == ODD


def test_quantities_stand_in_grams_and_moments_in_utc(tmp_path: Path) -> None:
    make.lot(on_hand=Decimal("1250.5"))
    [row] = cells(parts(exported(tmp_path)), "ledger_posting")

    assert row["quantity"] == "1250.500"
    assert row["at"] == f"{make.NOON:%Y-%m-%dT%H:%M:%S.%fZ}"


def test_what_is_written_meanwhile_is_not_in_the_file(tmp_path: Path) -> None:
    make.item(name="Sunflower oil")
    pieces = archive()
    first = next(pieces)

    thread = threading.Thread(target=_add_beside)
    thread.start()
    thread.join()
    path = tmp_path / "book.zip"
    path.write_bytes(first + b"".join(pieces))

    assert [row["name"] for row in cells(parts(path), "ledger_item")] == ["Sunflower oil"]
    assert Item.objects.count() == 2


def _add_beside() -> None:
    make.item(name="Beeswax")
    connection.close()


def test_book_that_is_not_empty_stays(tmp_path: Path) -> None:
    make.item(name="Sunflower oil")
    path = exported(tmp_path)
    with pytest.raises(ActionRefused, match="not empty"):
        restore(path)
    assert Item.objects.count() == 1


def _cut(path: Path, found: Parts) -> None:
    path.write_bytes(path.read_bytes()[:-200])


def _no_zip(path: Path, found: Parts) -> None:
    path.write_bytes(b"%PDF-1.7 something else")


def _one_digit(path: Path, found: Parts) -> None:
    name = "tables/ledger_posting.csv"
    packed(path, {**found, name: found[name].replace(b"1000.000", b"9000.000")})


def _one_digit_with_its_digest(path: Path, found: Parts) -> None:
    packed(path, changed(found, "ledger_posting", "1000.000", "9000.000"))


def _points_nowhere(path: Path, found: Parts) -> None:
    item = cells(found, "ledger_item")[0]["id"]
    packed(path, changed(found, "ledger_item", f"\n{item},", "\n987654,"))


def _leads_away(path: Path, found: Parts) -> None:
    packed(path, {**found, "uploads/../../away.txt": b"x"})


def _later(path: Path, found: Parts) -> None:
    package = json.loads(found["datapackage.json"])
    package["tarebook"]["migrations"]["ledger"].append("0999_later")
    packed(path, {**found, "datapackage.json": json.dumps(package).encode()})


def _other_head(path: Path, found: Parts) -> None:
    packed(path, {**found, "head.txt": b"seal 1 " + b"0" * 64})


@pytest.mark.parametrize(
    ("spoil", "sentence"),
    [
        (_cut, "not a whole export"),
        (_no_zip, "not a whole export"),
        (_one_digit, "was changed"),
        (_one_digit_with_its_digest, "not sound"),
        (_points_nowhere, "point at"),
        (_leads_away, "leave its folder"),
        (_later, "does not know its tables"),
        (_other_head, "does not end as the file says"),
    ],
)
def test_spoilt_file_leaves_the_old_book_as_it_was(
    spoil: Any, sentence: str, tmp_path: Path
) -> None:
    make.lot()
    path = exported(tmp_path)
    spoil(path, parts(path))
    make.lot()
    before = b"".join(archive())

    with pytest.raises(ActionRefused, match=sentence):
        restore(path, replace=True)

    assert b"".join(archive()) == before
    assert [one for one in prove() if not one.is_sound] == []


def test_restore_that_breaks_off_puts_files_back(tmp_path: Path) -> None:
    oil = goods.material("Sunflower oil")
    goods.certificate(goods.supplier(), [oil], document=photo("certificate"))
    upload = Upload.objects.get()
    path = exported(tmp_path)
    Path(upload.file.path).write_bytes(b"damaged since")

    def broken(_finding: Any) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        restore(path, replace=True, tell=broken)
    kept = sorted(path.name for path in Path(upload.file.path).parent.iterdir())

    assert Path(upload.file.path).read_bytes() == b"damaged since"
    assert [name for name in kept if "restore" in name] == []
    restore(path, replace=True)
    assert sha256(Path(upload.file.path).read_bytes()).hexdigest() == upload.sha256


KILLED = """
import os, signal, django
django.setup()
from pathlib import Path
from workshop.transfer.services.restore import restore
def dies(_finding):
    os.kill(os.getpid(), signal.SIGKILL)
restore(Path(os.environ["FILE"]), replace=True, tell=dies)
"""


def test_killed_restore_leaves_the_old_book(tmp_path: Path) -> None:
    make.lot()
    path = exported(tmp_path)
    make.lot()
    before = b"".join(archive())
    words = {"FILE": str(path), "DATABASE_URL": address()}
    words["DJANGO_SETTINGS_MODULE"] = "workshop.settings"

    done = subprocess.run(
        [sys.executable, "-c", KILLED],
        cwd=settings.BASE_DIR,
        env={**os.environ, **words},
        check=False,
    )

    assert done.returncode == -9
    assert b"".join(archive()) == before
    assert [one for one in prove() if not one.is_sound] == []
    restore(path, replace=True)
    assert b"".join(archive()) == path.read_bytes()


def manage(data: Path, *words: str) -> None:
    ours = ("TAREBOOK_", "DATABASE_", "SECRET_KEY")
    kept = {name: value for name, value in os.environ.items() if not name.startswith(ours)}
    done = subprocess.run(
        [sys.executable, "manage.py", *words],
        cwd=settings.BASE_DIR,
        env={**kept, "TAREBOOK_DATA": str(data)},
        check=False,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr


def test_from_postgresql_to_sqlite_and_back(tmp_path: Path) -> None:
    if connection.vendor != "postgresql":
        pytest.skip("begins on PostgreSQL; see its leg")
    whole_book()
    first, second = exported(tmp_path), tmp_path / "second.zip"
    manage(tmp_path / "data", "migrate", "--verbosity=0")

    manage(tmp_path / "data", "restore", str(first))
    manage(tmp_path / "data", "export", str(second))
    restore(second, replace=True)

    assert second.read_bytes() == first.read_bytes()
    assert exported(tmp_path, "third.zip").read_bytes() == first.read_bytes()
