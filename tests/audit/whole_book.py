"""A small book in which every room is in use: each table has rows, and all of them are sealed."""

from datetime import timedelta
from decimal import Decimal
from io import BytesIO
from typing import Any

from PIL import Image

from tests import make
from tests.costs import build as costs
from tests.dispatch import build as dispatching
from tests.formulas import build as formulas
from tests.goods_in import build as goods
from tests.kettle import build as kettles
from tests.packing import build as packing
from tests.planning import build as planning
from tests.trace import rooms
from workshop.aftersales.services import complaints, recalls
from workshop.core.files.uploads import CheckedFile, checked_file
from workshop.core.markets import (
    Market,
)
from workshop.core.models import (
    Role,
    Workshop,
)
from workshop.core.saving.new_tokens import new_token
from workshop.counts import services as counts
from workshop.curing import services as curing
from workshop.curing.models import CureTestKind, WeighedAs
from workshop.dispatch.services.delivery_confirmation import confirm_delivery, reverse_confirmation
from workshop.dossier.models import Entry, YearOfSales
from workshop.goods_in import services as goods_services
from workshop.goods_in.delivery_checks import Papers
from workshop.goods_in.models import Receipt, StopKind
from workshop.goods_in.services.corrections import correct_receipt
from workshop.goods_in.services.opening_stock import OpeningIn, take_over
from workshop.kettle import services as kettle_services
from workshop.kettle.adjustments.kettle_contents import contents_of
from workshop.kettle.models import Batch, CheckKind, TargetChangeKind
from workshop.kettle.services.cleaning import record_cleaning
from workshop.labels.models import (
    Art,
    ClaimAnswer,
    ClaimProof,
    Decision,
    DecisionKind,
    LabelCount,
    LabelDesign,
    LabelVersion,
    MarketSheet,
    OwnName,
    OwnSize,
    Party,
    Phrase,
    Print,
    Roll,
    VersionState,
)
from workshop.ledger import services as ledger
from workshop.ledger.models import ItemKind, Lot, Operation, PlaceKind, ShedKind, Status
from workshop.materials.models import UseLimit
from workshop.materials.services import blends, data_sheets
from workshop.materials.services.materials import BlendComponent
from workshop.materials.services.organic import enter_known_rules
from workshop.organic.services import record_pack
from workshop.packing import services as packing_services
from workshop.packing.models import Product, Reading
from workshop.packing.services import fill_weights, unpack
from workshop.packing.services.retained_samples import retain
from workshop.transfer.models import ColumnChoice, SheetImport, SheetTakenBack

AT, DAY = make.NOON, make.DAY
YEAR = timedelta(days=365)


def whole_book() -> None:
    owner = make.user(Role.OWNER, username="wren")
    Workshop.objects.create(pk=1, name="Wren Hollow Works", address="4 Quay Lane\nPort Ellery")
    oil, wax = _materials(owner)
    _there_before(oil, owner)
    lots = _received(oil, wax)
    correct_receipt(
        Receipt.objects.get(delivery_note="DN 8"),
        delivery_note="DN 9",
        note="By the back door",
        by=owner,
        at=AT,
        reason="Misread",
    )
    bulk = _made(oil, wax, lots, owner)
    finished = _packed(bulk, owner)
    unpack(finished, Decimal(1), Decimal(29), reason="Dented", by=owner, at=AT, token=new_token())
    _labelled(finished, owner)
    sent = _sent(finished, owner)
    _told(finished, sent, owner)
    _priced(finished)
    planning.everything()
    ledger.change_best_before(
        make.lot(), DAY + timedelta(days=200), by=owner, at=AT, reason="Tested again"
    )
    ledger.discard(finished, Decimal(1), by=owner, at=AT, reason="Lid broke", token=new_token())
    _from_sheets(owner)
    _counted(lots[oil], bulk, owner)
    record_pack(
        first=DAY, last=DAY, seed="spring", drawn=[str(finished)], chosen=[], file_count=1, size=9,
        sha256="1" * 64, paper_sha256="2" * 64, head="seal 1", by=owner, at=AT, token="pack",
    )  # fmt: skip
    # The last seal takes in what was written into the logs until now.
    ledger.count_lot(finished, Decimal(20), by=owner, at=AT, reason="Miscounted", token="count")


def _counted(oil: Lot, bulk: Lot, owner: Any) -> None:
    shelf = ledger.save_place(name="Cupboard", kind=PlaceKind.CUPBOARD, by=owner, at=AT)
    ledger.put_in_place([oil], shelf, spot="behind the drum", by=owner, at=AT, token="put")
    counts.reckon_classes(by=owner, at=AT, token="classes")
    asked = counts.Choice(place=shelf, tolerance_percent=Decimal(1))
    found = counts.begin_round(asked, by=owner, at=AT, token="round")
    act: dict[str, Any] = {"by": owner, "at": AT}
    for lot, grams, token in ((oil, 900, "c1"), (oil, 901, "c2"), (bulk, 1, "c3")):
        counts.record_count(found, lot, Decimal(grams), note="dusty", token=token, **act)
    signed = make.signed(owner)
    line = found.lines.get(lot=oil)
    counts.end_round(found, {line.pk: "Spilt"}, confirmed=signed, token="end", **act)


def _priced(finished: Lot) -> None:
    costs.rates(overhead="20")
    charges: dict[str, Any] = {
        "freight": Decimal(12),
        "duty": Decimal(3),
        "tax": Decimal(8),
        "reference": "I 5",
    }
    costs.invoice(Receipt.objects.get(delivery_note="DN 9"), "210.50 -2", "80", **charges)
    costs.minutes(finished.origin, 45)
    costs.price(finished.item, "12.50")


def _materials(owner: Any) -> tuple[Any, Any]:
    oil = goods.material("Sunflower oil", code="SUN-1", shelf_life_months=18)
    wax = goods.material("Beeswax", code="WAX-1", is_organic=False)
    data_sheets.save_soap_value(oil, Decimal("188.7"), by=owner, at=AT)
    data_sheets.save_contents(oil, {"Linalool": Decimal("0.5")}, by=owner, at=AT)
    enter_known_rules(by=owner, at=AT)
    UseLimit.objects.create(item=oil, most=Decimal(90), source="Own assessment")
    halves = [
        BlendComponent(inci_name=name, share=Decimal(50)) for name in ("Cera Alba", "Cera Flava")
    ]
    blends.keep_parts(wax.profile, halves, by=owner, at=AT)
    goods.organic_status(
        wax,
        "listed_606",
        part_name="Cera Alba",
        search="Asked three",
        searched_on=DAY,
        next_review=DAY + YEAR,
        evidence=photo("search"),
    )
    return oil, wax


def _received(oil: Any, wax: Any) -> dict[Any, Lot]:
    of = goods.supplier("Ostrey Oils")
    paper = goods.certificate(of, [oil], document=photo("certificate"))
    receipt = goods.receipt(
        goods.arrived(
            oil,
            grams=50_000,
            supplier_lot="S-77",
            supplier_gtin="09521234543213",
            certificate=paper,
            is_organic=True,
            makers_expiry=DAY + YEAR,
            temperature_c=Decimal("11.5"),
            checks_note="dry and clean",
            cost=Decimal("210.50"),
            analysis=photo("analysis"),
        ),
        goods.arrived(wax, grams=9_000),
        of=of,
        delivery_note="DN 8",
        note="By the back door",
        papers=Papers("Ostrey Oils", "IC 77", DAY, "Mara Ell", ("package", "travels")),
    )
    by = make.user()
    _judged(of, paper, receipt.lines.get(lot__item=oil).lot)
    return {
        line.lot.item: ledger.set_lot_status(line.lot, Status.RELEASED, by=by, at=AT, reason="Good")
        for line in receipt.lines.all()
    }


def _judged(of: Any, paper: Any, lot: Lot) -> None:
    act: dict[str, Any] = {"by": make.user(), "at": AT, "reason": "By letter"}
    values = {"verdict": "approved", "next_review": DAY + YEAR, "reason": "Known for years"}
    answers = {"certificate": {"is_done": True, "on": "", "evidence": "by post"}}
    goods_services.review_supplier(
        of, values, answers=answers, document=photo("answers"), by=act["by"], at=AT, token="r"
    )
    for token, kind in (("s1", "suspended"), ("s2", "reinstated")):
        goods_services.stop_certificate(paper, StopKind(kind), from_day=DAY, **act, token=token)
    goods_services.decide_organic(lot, is_organic=True, certificate=paper, **act, token="d")


def _there_before(oil: Any, owner: Any) -> None:
    known = OpeningIn(
        item=oil,
        quantity=Decimal(700),
        made_on=DAY - YEAR,
        old_code="SUN 3",
        note="half a can",
        supplier_lot="77-1",
    )
    take_over([known], day=DAY, supplier=goods.supplier("Tolm Oils"), by=owner, at=AT)


def _from_sheets(owner: Any) -> None:
    act: dict[str, Any] = {"by": owner, "at": AT}
    brought = SheetImport.objects.create(
        file_name="stock.xlsx", sha256="0" * 64, new=1, changed=0, same=0, **act
    )
    SheetTakenBack.objects.create(taken_in=brought, reason="The wrong file", **act)
    ColumnChoice.objects.create(kind="stock", heading="menge", column="quantity", **act)


def photo(name: str) -> CheckedFile:
    drawn = BytesIO()
    Image.new("RGB", (8, 8), name.encode()[0]).save(drawn, "PNG")
    drawn.seek(0)
    return checked_file(f"{name}.png", drawn)


def _made(oil: Any, wax: Any, lots: dict[Any, Lot], owner: Any) -> Lot:
    salve = make.item(name="Salve base", kind=ItemKind.BULK, code="BULK-1")
    version = formulas.approved(
        formulas.line(80, oil, substitutes=[make.item(name="Olive oil", code="OLI-1")]),
        formulas.line(20, wax),
        of=formulas.formula(salve, name="Plain salve"),
        note="Stir slowly",
    )
    batch = kettles.batch(version, scale=kettles.scale("0.5"), kettle=kettles.kettle())
    first, second = batch.lines.order_by("order")
    record_cleaning(
        batch.kettle, cleaned_at=AT, method="Washed", agent="Soda", rinse="Poured off",
        checked_by="Mara Ell", by=owner, at=AT, token="clean",
    )  # fmt: skip
    kettles.weigh(first, "800", lot=lots[oil], note="from the drum")
    slip = kettles.weigh(second, "260", lot=lots[wax])
    kettle_services.undo_reading(
        slip, by=owner, at=AT, reason="Read the wrong scale", token=new_token()
    )
    kettles.weigh(second, "230", lot=lots[wax])
    _beside(batch, owner)
    ledger.shed(batch.operation, ShedKind.FILM, Decimal(9), by=owner, at=AT, token="film")
    kettles.pour(batch, "970", note="a little skin on top")
    kettles.release(batch, by=owner, at=AT)
    kettle_services.close_batch(batch, by=owner, at=AT)
    kettle_services.amend_batch(batch, by=owner, at=AT, reason="A weighing lacked its note")
    kettle_services.close_batch(batch, by=owner, at=AT)
    made = batch.operation.lots.get()
    act: dict[str, Any] = {"by": owner, "at": AT}
    rack = curing.save_rack(name="Rack by the window", **act)
    curing.put_on_rack(made, rack, place="tray 3", bars=9, token="rack", **act)
    curing.add_test(
        made, CureTestKind.PH, Decimal("9.5"), method="meter", note="warm", token="ph", **act
    )
    for weight, token in (("970", "week 1"), ("967", "week 2")):
        row = curing.RoundRow(made, WeighedAs.TRAY, Decimal(weight))
        [weighed] = curing.weigh_round([row], token=token, **act)
    curing.take_weighing_back(weighed, reason="The tray was wet", token="back", **act)
    return made


def _beside(batch: Batch, owner: Any) -> None:
    act: dict[str, Any] = {"by": owner, "at": AT}
    seen = contents_of(Batch.objects.get(pk=batch.pk), on=DAY).figures_hash
    kettle_services.mend(
        batch,
        TargetChangeKind.ACCEPT,
        figures_hash=seen,
        reason="The wax slipped",
        token=new_token(),
        **act,
    )
    kettle_services.add_check(
        batch,
        CheckKind.TEMPERATURE,
        temperature_c=Decimal(72),
        note="by the probe",
        token="t1",
        **act,
    )
    kettle_services.add_photo(batch, photo("melt"), shows="The melt", token="t2", **act)
    timer = kettle_services.start_timer(batch, name="Hold warm", minutes=5, token="t3", **act)
    kettle_services.end_timer(timer, note="", token="t4", **act)


def _packed(bulk: Lot, owner: Any) -> Lot:
    product = packing.product(
        bulk=bulk.item, fill_g=Decimal(30), code="SALVE-30", name="Salve 30 g", by=owner
    )
    run = packing.run(product, 25)
    packing.weighed(run, "14 14.2", Reading.EMPTY)
    packing.weighed(run, "30.2 30.4 29.9", scale=packing.scale())
    fill_weights.correct(
        run.samples.get(place=5), Decimal("30.1"), by=owner, at=AT, token="c", reason="misread"
    )
    lot = packing_services.finish(
        run,
        units=25,
        bulk=[(bulk, Decimal(760))],
        containers=[(make.lot(product.container, on_hand=500), 26)],
        spoiled=1,
        spill_g=Decimal(5),
        spill_why="knocked over",
        retained=2,
        retained_at="box 1",
        made_on=DAY,
        note="One dented",
        by=owner,
        at=AT,
    )
    retain(lot, Decimal(1), place="box 2", reason="for a test", by=owner, at=AT, token="more")
    return ledger.set_lot_status(lot, Status.RELEASED, by=owner, at=AT, reason="Good")


def _labelled(lot: Lot, owner: Any) -> None:
    product = Product.objects.get()
    LabelDesign.objects.create(product=product, sold_in_us=True, claims="Soft hands")
    firm = Party.objects.create(
        market=Market.EU, name="Fell & Ferry", address="4 Wharf", country="DE"
    )
    MarketSheet.objects.create(
        product=product, market=Market.EU, responsible=firm, origin="USA", languages=["de"]
    )
    Phrase.objects.create(language="de", english="Soft hands", text="Zarte Hände")
    OwnName.objects.create(market=Market.EU, inci_name="Beeswax", name="Cera Alba")
    noted: dict[str, Any] = {"product": product, "at": AT, "by": owner, "token": "p"}
    Entry.objects.create(key="stability", text="Kept a year", **noted)
    YearOfSales.objects.create(year=2025, usd=90_000)
    ClaimProof.objects.create(claim="Soft hands", evidence="Ten people asked", dated=DAY, **noted)
    ClaimAnswer.objects.create(
        sentence="Relief for hands", word="relief", answer="Taken off", **noted
    )
    Art.objects.create(product=product, dark="#402010", middle="#805030", light="#c0a080")
    OwnSize.objects.create(name="Lid", width_mm=40, height_mm=40)
    version = LabelVersion.objects.create(
        product=product,
        market=Market.US,
        number=1,
        state=VersionState.APPROVED,
        name="Salve",
        entries=[{"name": "Cera Alba", "share": "1/5"}],
        maker="Wren Hollow Works",
        net_contents="30 g",
        net_ounces=Decimal("1.05"),
        net_g=Decimal(30),
        made_at=AT,
        made_by=owner,
        approved_at=AT,
        approved_by=owner,
    )
    act: dict[str, Any] = {"lot": lot, "at": AT, "by": owner}
    Print.objects.create(count=30, layout="lid", version=version, text="Salve", token="p", **act)
    LabelCount.objects.create(used=25, spoiled=1, returned=4, token="p", **act)
    Roll.objects.create(version=version, token="p", **act)
    Decision.objects.create(
        version=version,
        kind=DecisionKind.RELABEL,
        sentences=["The list differs."],
        reason="New list",
        token="p",
        **act,
    )


def _sent(lot: Lot, owner: Any) -> Any:
    shop = dispatching.customer("Ostrell Larder", address="3 Quay\nOstrell")
    sent = dispatching.sent((lot, 4), to=shop, customer_reference="PO 12", note="By van")
    confirm_delivery([sent], arrived_on=DAY, by=owner, at=AT)
    reverse_confirmation(sent.arrivals.get(), reason="It was another parcel", by=owner, at=AT)
    confirm_delivery([sent], arrived_on=DAY, by=owner, at=AT)
    dispatching.back(sent, (lot, 1))
    return sent


def _told(lot: Lot, sent: Any, owner: Any) -> None:
    complaint = rooms.complaint(
        lot,
        customer=sent.customer,
        told_by="Mara Ell",
        code_read=lot.code,
    )
    complaints.note(
        complaint,
        "A photo came",
        photos=[photo("complaint")],
        by=owner,
        at=AT,
        token=new_token(),
    )
    rooms.assessed(complaint, lot)
    complaints.close(complaint, "Old oil", by=owner, at=AT, token=new_token())
    recall = rooms.recall(lot)
    recalls.talk(
        recall,
        sent.customer,
        "answered",
        means="telephone",
        spoke_with="Ivo Marn",
        words="They look",
        will_return=Decimal(1),
        by=owner,
        at=AT,
        token=new_token(),
    )
    rooms.close(recall)


def operations() -> dict[str, str]:
    """The reference of the last operation of each kind."""
    return dict(Operation.objects.order_by("pk").values_list("kind", "reference"))
