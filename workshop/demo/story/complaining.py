"""Complaints: small ones now and then, and red skin that one lot of oil explains."""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal

from workshop.aftersales.models import Channel, Complaint, Nature, Outcome, Severity
from workshop.aftersales.services import complaints
from workshop.demo.story import complaint_causes
from workshop.demo.story.clock import Clock
from workshop.demo.story.story_state import Book, Sent
from workshop.dispatch import services as dispatch

LEAST_DAYS_IN_USE = timedelta(days=6)


@dataclass(frozen=True)
class Said:
    """What somebody complains of once a share of the history has gone by, and what is done."""

    what: str
    after: str
    words: str
    nature: Nature = Nature.SKIN
    severity: Severity = Severity.MAJOR
    channel: Channel = Channel.EMAIL
    code: str = ""
    outcome: str = ""
    findings: str = ""
    answer: str = ""
    cause: str = ""
    tin_came_back: bool = False


SMALL = (
    Said(
        "grainy salve",
        "0.34",
        "Feels like fine sand, but melts on the skin.",
        nature=Nature.TEXTURE,
        severity=Severity.MINOR,
        code="CAL",
        findings="The retained tin is grainy, too: shea that set too slowly in a warm week.",
        answer="Explained, and a new tin sent. It is as good as a smooth one.",
        cause="Set too slowly in a warm week. Filled tins now stand in the cold room at once.",
    ),
    Said(
        "cracked lid",
        "0.52",
        "Lid cracked when the carton was opened.",
        nature=Nature.PACKAGING,
        severity=Severity.MINOR,
        channel=Channel.SHOP,
        findings="One lid of the lot; the carton had been dropped on a corner.",
        answer="Replaced with the next order.",
        cause="Damage in the post. Cartons get a second layer of paper.",
    ),
    Said(
        "faint smell",
        "0.7",
        "Smells of almost nothing this time.",
        nature=Nature.SMELL,
        severity=Severity.MINOR,
        channel=Channel.IN_PERSON,
        findings="The batch record shows the right weights, and three noses find it usual.",
        answer="Thanked, and told what goes in.",
        cause="No fault was found.",
    ),
    Said(
        "rubbed label",
        "0.86",
        "The lot code rubs off with oily fingers.",
        nature=Nature.LABEL,
        severity=Severity.MINOR,
        findings="True: the new sheets take the ink badly.",
    ),
)
# The last of them saw a doctor: in doubt that counts as serious, and the clock runs.
SKIN = (
    Said(
        "complaint",
        "0.9",
        "Burning and red skin after the second use; tin sent back.",
        findings="No fault in the batch record, but it smells harsh: look at the oils.",
        tin_came_back=True,
    ),
    Said(
        "second complaint",
        "0.915",
        "Redness between the toes, twice; tin sent back.",
        findings="Smells as harsh as the tin of the first complaint.",
        tin_came_back=True,
    ),
    Said("third complaint", "0.93", "Stings at once, red for an hour.", channel=Channel.TELEPHONE),
    Said(
        "fourth complaint", "0.945", "A customer's feet itched all evening.", channel=Channel.SHOP
    ),
    Said(
        "serious complaint",
        "0.965",
        "Blisters on both feet; a doctor had to treat them.",
        severity=Severity.CRITICAL,
        channel=Channel.TELEPHONE,
        outcome=Outcome.TREATED,
        findings="A doctor treated it. Judged serious until more is known.",
    ),
)
ANOTHER = Said(
    "other salve",
    "0.935",
    "Slight itch, gone after washing. Perhaps it was the new socks.",
    severity=Severity.MINOR,
    findings="Nothing found. Asked to tell if it happens again.",
)


def take_complaints(book: Book, clock: Clock) -> None:
    """Whoever complains today."""
    for said in (*SMALL, *SKIN, ANOTHER):
        if not book.may_happen(said.what, Decimal(said.after)):
            continue
        sent = _about(book, said)
        if sent is None:
            continue
        _happen(book, clock, said, sent)


def _about(book: Book, said: Said) -> Sent | None:
    in_use = [one for one in book.sent if one.dispatch.sent_on <= book.day - LEAST_DAYS_IN_USE]
    known = {one.lot.pk for one in book.complained}
    fresh = [one for one in in_use if one.lot.pk not in known]
    if said in SKIN:
        if said is SKIN[0]:
            book.sore, book.shared = complaint_causes.lots_with_one_oil(len(SKIN), on=book.day)
        return book.sore.pop(0) if book.sore else None
    if said is ANOTHER:
        return _without_the_oil(book, fresh)
    fitting = [one for one in fresh if one.lot.item.code.startswith(said.code)]
    return fitting[-1] if fitting else None


def _happen(book: Book, clock: Clock, said: Said, sent: Sent) -> None:
    complaint = _logged(book, clock, said, sent)
    book.complained.append(sent)
    if said.findings:
        _judge(book, clock, said, complaint, sent)
    if said.tin_came_back:
        book.sent = [one for one in book.sent if one != sent]  # nobody sends back twice
        dispatch.record_return(
            sent.dispatch,
            [(sent.lot, Decimal(1))],
            returned_on=book.day,
            reason=f"Complaint {complaint}: {said.words}",
            by=book.packer,
            at=clock.after(4, 8),
            token=book.token(),
        )
    shared = f"; {book.shared} is in it" if said in SKIN else ""
    book.note(said.what, f"{complaint}: {sent.dispatch.customer}, lot {sent.lot}{shared}")


def _logged(book: Book, clock: Clock, said: Said, sent: Sent) -> Complaint:
    complaint = Complaint(
        channel=said.channel,
        customer=sent.dispatch.customer,
        received_on=book.day,
        code_read=sent.lot.shown_code,
        nature=said.nature,
        severity=said.severity,
        description=said.words,
    )
    at, token = clock.after(3, 6), book.token()
    return complaints.log(complaint, lots=[sent.lot], by=book.packer, at=at, token=token)


def _judge(book: Book, clock: Clock, said: Said, complaint: Complaint, sent: Sent) -> None:
    complaints.assess(
        complaint,
        said.findings,
        severity=said.severity,
        outcome=said.outcome,
        lots=[sent.lot],
        by=book.owner,
        at=clock.after(2, 5),
        token=book.token(),
    )
    for service, words in ((complaints.answer, said.answer), (complaints.close, said.cause)):
        if words:
            at = clock.after(2, 4)
            service(complaint, words, by=book.owner, at=at, token=book.token())


def _without_the_oil(book: Book, fresh: list[Sent]) -> Sent | None:
    others = [one for one in fresh if one.lot.item.code != complaint_causes.SALVE]
    return others[0] if others else None
