"""A place's state is made of its open questions; memory and tape hold it out of the totals; two parties close a question, about its very facts."""

from tests.office.test_desk import answer_all, do, with_seals


def names(night, place="W3") -> set[str]:
    return {one.name for one in night.room.questions(place) if one.open}


def brought(night, **own):
    """The demo's packet and its goods, step by step; `own`: step -> what is typed otherwise."""
    night.hold()
    night.take_in("W3", **with_seals(night))
    for key in ("carriers-in", "receivers", "containers-in", "seals-read", "memory-in"):
        do(night, key, **own.get(key.replace("-", "_"), {}))


def test_memory_that_is_not_loaded_holds_the_place_out_of_the_totals_until_two_parties_say_why(night):
    brought(night, memory_in={"expected": "2", "received": "1", "loaded": "0"})
    assert "memory" in names(night) and night.room.board.places == {}
    assert night.room.state("W3")[1].startswith("held out of the totals, ")
    for path in ("/totals", "/places", "/canvass"):
        assert "Held out of the totals, 1 place whose memory or tape does not agree" in night.window.get(path).text
    assert "in no total" in night.window.get("/questions/W3").text
    night.restart()
    assert night.room.board.places == {} and "memory" in names(night)
    night.hold()
    answer_all(night)
    assert list(night.room.board.places) == ["W3"] and "memory" not in names(night)


def test_every_question_of_the_goods_is_open_under_its_own_name_and_none_is_agreed(night):
    brought(
        night,
        containers_in={"here.C2": "", "on_slip": "9", "not_so": "yes", "found": "C2 is gone", "done": "rung"},
        seals_read={"seals.C1": "1234"},
    )
    assert {"seal/C1", "container/C2", "containers"} <= names(night)
    said = night.window.get("/questions/W3").text
    assert "C1: seal 1234 read here, 7700000 in the packet." in said and "C2 (" in said
    assert "agreed" not in night.room.state("W3")[1] and "questions open" in night.room.state("W3")[1]


def test_an_answer_is_needed_with_its_words_and_its_outcome(night):
    brought(night)
    page = night.window.get("/questions/W3")
    form = page.form("/questions/W3")
    page = night.window.send(form, {"signer": "calloway", "pin": night.crew.pins["calloway"]})
    assert page.status == 422
    for sentence in ("Tick the questions that this answers", "Choose what came of it", "Enter the answer"):
        assert sentence in page.text
    assert "answered" not in night.kinds


def test_an_answer_that_reads_otherwise_than_it_was_typed_is_not_kept(night):
    brought(night)
    form = night.window.get("/questions/W3").form("/questions/W3")
    asked = next(iter(form.controls["ask"].options))
    values = {"ask": [asked], "outcome": form.controls["outcome"].options[0], "answer": "left 12 \u202e21 tsop"}
    page = night.window.send(form, values | {"signer": "calloway", "pin": night.crew.pins["calloway"]})
    assert page.status == 422 and "U+202E" in page.said()
    page = night.window.post(form.action, [*form.filled(values), ("entry_id", "zz")])
    assert page.status in (400, 422)


def test_an_answer_closes_a_question_about_its_facts_and_stays_legible(night):
    brought(night, seals_read={"seals.C1": "1234"})
    answer_all(night)
    assert names(night) == set()
    page = night.window.get("/questions/W3")
    assert "No question is open" in page.text and "Looked at together with the carriers." in page.text
    assert night.kinds.count("answered") >= 2
    assert "A question answered at the desk" in night.window.get("/record").text


def test_a_packet_that_lacks_its_contests_is_not_agreed_and_totals_name_the_place(night):
    """The first row of the walk's table: every contest, all check-ins and all steps left out."""
    night.hold()
    night.take_in("W3", contests={}, people=[], steps=[])
    said = night.window.get("/place/W3").text
    assert "11 contests" in said and "check-ins" in said and "each agrees" not in said
    assert {"lacks/contest/GOV", "lacks/check-ins", "lacks/step/zero-tape/T1"} <= names(night)
    assert "questions open" in night.room.state("W3")[1]


def test_totals_name_the_place_whose_packet_lacks_a_contest(night, desk):
    night.hold()
    rows = dict(desk.opened.core["contests"])
    del rows["GOV"]
    night.take_in("W3")
    night.take_in("W5", contests=rows)
    said = night.window.get("/totals").text
    assert "1 of 2 places. Not in their packets:" in said and "Heathfield Chapel" in said
