"""One word for one thing, and the trade's own: what screens and papers used to say stays out."""

from pathlib import Path

import pytest
from django.conf import settings

# What was said once, and what is said now.
NOW = {
    "Go on with": "Continue weighing",
    "about to lapse": "due for renewal",
    "To the page itself": "Skip to content",
    "Scan a lot tag, or type a code": "Scan or type any code",
    "That name and password do not go together. Capitals count in both.": (
        "Name or password is wrong. Both are case-sensitive."
    ),
    "Book a delivery in": "Receive a delivery",
    "What came in?": "Receive a delivery",
    "On the way for long, and no word": "Overdue: ask the customer",
    "Past their date, or within 60 days of it": "Expired, or expiring within 60 days",
    "Maker's expiry": "Expiry (or retest) date",
    "Nothing is recorded yet. Mend what is marked below and send the page again.": (
        "Not saved yet. Correct the marked fields."
    ),
    "it is not tared": "not tared: I enter the total",
    "Every line is in.": "All ingredients are in.",
    "See what brings it right": "How to correct it",
    "Stop it for good": "Abandon batch",
    "By percentage points": "Change in percentage points",
    "Bench scale will do from a batch of": "Smallest batch for the bench scale",
    "Limits on the skin": "Maximum use levels",
    "Cannot be taken back out": "Cannot be removed once added",
    "Labels that would be untrue": "Labels that do not match their lot",
    "Why nothing is printed": "Why printing is blocked",
    "Decide about it": "Resolve",
    "Why again": "Reason for reprint",
    "Print and note it": "Print and log",
    "real size, without fitting it to the page": '100 %, not "fit to page"',
    "Statements the law fixes": "Required warnings",
    "Depth: down to whom": "Depth of recall",
    "Where all of each lot is": "Where every unit is",
    "Close with the account of every unit": "Reconcile and close",
    "Look first at lot": "Main suspect: lot",
    "Whether the book can be trusted": "Integrity",
    "Prove the whole book now": "Check the whole book",
    "Who changed what": "Change log",
    "Days on the way, at most": "Assume delivered after, days",
    "Signs a second (baud)": "Baud rate",
    "its people keep their words": "its users keep their passwords",
    "Not for you": "You do not have access",
    "Mend the weighings": "Correct weighings",
    "Once saponified": "Saponified INCI name",
    "Keep them back": "Retain samples",
    "What else did these share?": "Related lots",
    "Whom to ask for": "Contact",
    "It is packed already": "Record a finished run",
    "Contents alone, scale tared": "Net (tared)",
    "This day is still to come.": "That date is in the future.",
    "too large to be true": "implausibly large",
    "In or made": "Received or made",
    "Still out": "Outstanding",
    "long on the way": "overdue",
    'is good"': "conforms, intact",
    "All of them: ": "Show all …",
    "should show ": "Scale should read",
    "more to mind": "more cautions",
    'words">Mind<': "Notes",
    "Off at worst": "Worst error, %",
    ">Its label<": "Label",
    ">Hold it<": "Hold",
    ">Reject it<": "Reject",
    ">Change it<": "Edit",
    'Keep it")': "Save",
    ">Leave it": "Cancel",
    ">Print it": "Print",
    "Good until": "Expiry (or retest)",
    "may be thrown away": "may be written off",
    "Counted difference": "Stock adjustment",
    "strew the lye": "sprinkle",
    "of this step runs since": "has been running since",
    "cannot be told": "cannot be determined",
    "true ticket of": "We cannot verify who took this reading",
    "so it was reported later": "The report cannot be dated before …, when it was received.",
    "Nothing is bought of": "is no longer an active supplier",
    "14 digits number a carton": "A 14-digit GTIN identifies a carton",
    "were made outside this time": "more complaints are outside these dates",
    "less returns": "outstanding",
    "fetch it again": "download again",
    "Nothing in this list is like that": "Nothing in this list matches.",
    "A page cannot keep files while it is corrected": "Files are not kept when …",
    "What speaks against it": "Problems",
    "is untrue of this lot": "does not match this lot",
    "Labels held against their lots": "Labels checked against their lots",
    "Drawn by chance": "Drawn at random",
    "throw it away": "write it off",
    "Judge anew": "Decide again",
    "Lay out anew": "Lay out again",
    "Keep what it cost": "Save the costs",
    "In which currency does the workshop reckon?": "Which currency does the workshop use?",
    "Take in spreadsheets": "Import spreadsheets",
    "Bring another file": "Upload another file",
    "Write down a complaint": "Log a complaint",
    "shown to who counts": "hidden from the counters",
    "There is nothing to mend": "There is nothing to correct.",
    "Came in, g or pieces": "Received, g or pieces",
    "Scale tared? If not, it comes to": "Tared? If not, stop at",
    "Mend the yield": "Correct the yield",
    "nothing to mend": "nothing to correct",
    "Keep the product": "Save the product",
    "Keep the figures": "Save the figures",
    "Keep the photo": "Save the photo",
    "Nothing is changed until you keep it": "Nothing changes until you save it.",
    "Stop {} for good": "Abandon {}",
    "picks any lot by chance": "at random",
    "the workshop reckons": "Choose the workshop's currency first.",
    "is none of the choices": "is not one of the choices",
    "Write it into the log": "Add it to the log",
    "is written down: ": "is logged",
    "What came in for it": "Purchased lots used for it",
    "Nothing has come in yet": "Nothing has been received yet.",
    "It has come: receive it": "Receive this delivery",
    "Take orders from a file": "Import orders from a file",
    "Taking in {{": "Importing",
    "What there was, what became of it": "Stock value: opening, movements, closing",
    "Right so far": "Correct so far",
    "May be off by": "Tolerance",
    "Put it elsewhere": "Move it",
    "Record the discard": "Write it off",
    "Whether it can be trusted": "Integrity",
    "What the book knows<": "Master data",
    "Is supplied now": "Active customer",
    "none is to be had": "no organic form is commercially available",
    "Samples kept back": "Retained samples",
    "are kept back as": "are retained as",
    "in spite of what is lacking": "despite what is missing",
    "Did it come to any of these": "Did any of these occur?",
    "Which lot is in question": "Which lot do you want to trace?",
    "a day that is still to come": "a date in the future",
    "moment is still to come": "That time is in the future.",
    "Not found good: ": "Does not conform:",
    "Nothing bears out": "There is no evidence for",
    "page by page</a>": "Show all …",
    "Thrown <br>": "Written off",
    "A smeared code is no trouble": "If the code is smeared",
}


def texts() -> dict[str, str]:
    """All that people read, and the code that says it, by file."""
    base = Path(settings.BASE_DIR)
    files = [
        *(base / "templates").rglob("*.html"),
        *(base / "static" / "js").glob("*.js"),
        *(base / "workshop").rglob("*.py"),
    ]
    return {
        str(path.relative_to(base)): " ".join(path.read_text("utf-8").split())
        for path in files
        if "migrations" not in path.parts
    }


@pytest.fixture(scope="module")
def said() -> dict[str, str]:
    return texts()


@pytest.mark.parametrize("phrase", NOW)
def test_phrase_is_said_in_the_words_of_the_trade(phrase: str, said: dict[str, str]) -> None:
    assert [name for name, text in said.items() if phrase in text] == []
