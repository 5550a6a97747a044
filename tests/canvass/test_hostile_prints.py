"""Titles, names and remarks of any kind on every paper of the canvass and of the desk: no print fails, each is words there, and nothing runs off the leaf.

Words as in `test_hostile_words`. A letter that the typeface lacks is printed as its number; a control character and a direction mark too, so that no
paper can be made to read otherwise than its letters stand. Read back by PDFium, which shares nothing with what wrote it.
"""

import csv
import io
import json
import re
from dataclasses import replace
from pathlib import Path

from tests.canvass.county import GOV, SITE, County, figures
from tests.canvass.test_document import BOARD, MADE, RECONCILED
from tests.canvass.test_hostile_words import WORDS
from tests.matrix import some
from tests.paper.printed import Printed
from webapp.canvass import document, results_csv
from webapp.canvass.atoms import Atom
from webapp.canvass.document import CANVASS
from webapp.canvass.edition import public
from webapp.office.canvassing.editions import as_json
from webapp.paper.certificate_pages import certificate_pdf
from webapp.paper.count_forms import count_sheet_pdf, recount_sheet_pdf
from webapp.paper.receipt_page import AskedAtDesk, Goods, Hand, HeldAside, Receipt, receipt_pdf
from webapp.paper.reconciliation_pages import reconciliation_pdf
from webapp.precinct.place import place_file
from webapp.precinct.place.place import Choice

ACTIVE = re.compile(rb"/(JavaScript|JS|Launch|URI|EmbeddedFile|AA|SubmitForm|GoToR)\b")
DEMO = place_file.read(Path("demo_precinct/place.toml").read_bytes())


def files(words: str) -> dict[str, bytes]:
    """A certified edition whose every free word is this."""
    county = County(("P", "Q"), {"P": "Q", "Q": "P"})
    contest = replace(
        GOV, title=f"T{words}", group=f"G{words}", choices=(Choice("A", f"A{words}"), Choice("B", f"B{words}"))
    )
    kept = {"GOV": {Atom("P", SITE): figures(201, 190, 12, 27, 1), Atom("Q", SITE): figures(101, 98, 4, 8, 1)}}
    made = county.post(kept, contests=(contest,))
    units = tuple(replace(unit, name=f"N{words}") for unit in made.units)
    made = replace(made, status="certified", office=f"O{words}", election=f"E{words}", because=f"R{words}", units=units)
    rows = list(csv.DictReader(io.StringIO(RECONCILED)))
    out = io.StringIO()
    sheet = csv.DictWriter(out, rows[0], lineterminator="\n")
    sheet.writeheader()
    sheet.writerows({**row, "name": f"N{words}"} for row in rows)
    member = {"name": f"M{words}", "party": f"P{words}", "vote": "against", "statement": f"S{words}"}
    board = BOARD | {
        "text": f"W{words}",
        "met": f"when {words}",
        "members": [member],
        "narrative": [{"about": "entry/1", "title": f"H{words}", "text": f"X{words}"}],
        "over": [[f"Y{words}", f"Z{words}"]],
    }
    return {
        "results.csv": results_csv.written(made),
        "reconciliation.csv": out.getvalue().encode(),
        CANVASS: json.dumps(board).encode(),
        "edition.json": as_json(public(made, MADE, {})),
    }


def receipt_of(words: str) -> bytes:
    full = Receipt(
        questions=(AskedAtDesk("Seal", words),) * 3,
        answers=words,
        packet=words,
        goods=(Goods(words, words, True, True, words, words, words),),
        held=(HeldAside(words, 1, 2),),
        here_at=words,
        carriers=(Hand(words, words, words),),
        missing=words,
        receivers=(Hand(words, words, words),),
    )
    return receipt_pdf(DEMO, full)


def papers(words: str) -> dict[str, bytes]:
    one = document.read(files(words))
    contest = replace(GOV, title=f"T{words}", choices=(Choice("A", f"A{words}"),))
    return {
        "certificate": certificate_pdf(one),
        "reconciliation": reconciliation_pdf(one),
        "count sheet": count_sheet_pdf(words, words, words, (contest,), (words,), False),
        "recount sheet": recount_sheet_pdf(words, words, words, (contest,), words, False),
        "receipt": receipt_of(words),
    }


def held(words: str) -> dict[str, Printed]:
    """Each paper with these words: none of them active, none off the leaf."""
    found = {}
    for name, data in papers(words).items():
        printed = Printed(data)
        assert not ACTIVE.search(data), (words[:40], name)
        assert printed.outside(9, 206, 8, 280) == [], (words[:40], name)
        found[name] = printed
    return found


def test_r22_words_of_any_kind_are_words_on_every_paper():
    """All at once, as a remark of several lines."""
    short = [words for words in WORDS if len(words) < 1000]
    for name, printed in held("\n".join(short)).items():
        for words in (
            "<script>alert(1)</script>",
            '=HYPERLINK("http://x.example","win")',
            "{{7*7}}",
            "[U+202E]321",
            "[U+001B][31m",
            "[U+0000]",
        ):
            assert words in printed.all, (name, words)


def test_each_by_itself_fails_no_print():
    for words in some(('"', "a,b\nc", "\x00", "\ufeff"), [words for words in WORDS if len(words) < 1000]):
        assert all(len(printed) for printed in held(words).values())


def test_ten_thousand_letters_are_printed_to_the_end_where_words_are_free_and_cut_with_their_number_in_a_cell():
    statement = " ".join(f"w{n}" for n in range(2000))
    for words in some(("y" * 10_000,), ("y" * 10_000, statement)):
        for name, printed in held(words).items():
            assert "letters more" in printed.all, name
    narrative = printed_narrative(statement)
    assert all(f" w{n} " in narrative for n in range(1, 1999))


def printed_narrative(statement: str) -> str:
    one = files("plain")
    one[CANVASS] = json.dumps(BOARD | {"narrative": [{"about": "entry/1", "title": "T", "text": statement}]}).encode()
    printed = Printed(certificate_pdf(document.read(one)))
    assert printed.outside(12, 203, 10, 276) == []
    return " ".join(
        re.sub(
            r"O?plain.{0,60}Certificate of the canvass Page \d+ of \d+ Certified, edition 1, digest \w{16}", " ", text
        )
        for text in printed.texts
    )
