"""Now over HTTP: an alarm reaches whoever signed and stands until it is settled, what waits is named, open pages are told; the demo's day each quarter hour."""

import json
import re

import pytest

from demo_precinct import rehearsed_county, story
from demo_precinct.http_window import Window
from demo_precinct.rehearsed_day import MINUTE, Day
from demo_precinct.true_figures import invented
from webapp.precinct.checklist import checklist
from webapp.precinct.place import place_file
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings

QUARTER = 15 * MINUTE


def plain(page) -> str:
    return " ".join(re.sub(r"<[^>]*>", " ", page.text).split())


def heading(page) -> str:
    return re.search(r'<h1 id="heading">([^<]*)</h1>', page.text)[1]


def reading(here, hour: str, **own):
    """The reading of that hour, taken by one person; the page that follows."""
    form = here.window.get(f"/step/hourly:{hour}").form("/step/")
    values = here.filled(form, "hourly", hour) | own
    return here.window.send(form, here.signed(values, "lindqvist"))


def more_ballots(here):
    """At ten o'clock the counters show more ballots than check-ins."""
    here.now = here.place.at(here.place.opens) + 4 * 60 * MINUTE
    here.crew.clock(here.now)
    here.hold()
    form = here.window.get("/step/hourly:11:00").form("/step/")
    before = here.room.day.of("hourly")[-1].body["check_ins"]
    low = {n: str(before[n.partition(".")[2]]) for n in form.controls if n.startswith("check_ins.")} | {"in_hand": "0"}
    return reading(here, "11:00", **low)


def test_whoever_signs_a_reading_that_is_off_gets_its_own_page_and_now_keeps_it(scene):
    here = scene("voting")
    page = more_ballots(here)
    assert re.fullmatch(r"/look/\d+", page.path), page.path
    number = int(page.path.rsplit("/", 1)[1])
    assert "I mistyped: change it" in plain(page) and "It is so: look now" in plain(page)
    now = here.window.get("/now")
    assert heading(now) == heading(page) and "Look now" in plain(now) and f'href="/look/{number}"' in now.text
    assert ">Count: look</a>" in here.window.get("/note").text

    found = here.window.get(f"/look/{number}/found")
    form = found.form(f"/look/{number}/found")
    empty = here.window.send(form, here.signed({"found": " "}, "lindqvist"))
    assert empty.status == 422 and "Write what you looked at" in empty.text
    page = here.window.send(form, here.signed({"found": "Both books read again."}, "lindqvist"))
    assert page.path.startswith("/sign/")
    waits = here.window.get("/now")
    assert "Signed once, by Ada Lindqvist." in plain(waits) and "Looked into a reading" in plain(waits)
    page = here.second(page)
    assert page.path.startswith("/now?kept=") and "Kept: Looked into a reading" in plain(page)
    assert "Count: look" not in page.text and not re.search("more ballots? than", heading(page))
    assert here.window.get(f"/look/{number}").status == 409
    assert "Both books read again." in here.window.get("/record").text
    kept, again = here.length, {"found": "Both books read again."}
    assert here.window.send(form, here.signed(again, "lindqvist")).path.startswith("/now") and here.length == kept
    other = here.window.send(form, here.signed({"found": "A page was skipped."}, "lindqvist"))
    assert other.status == 409 and "Already entry" in other.said() and here.length == kept


def test_after_a_step_the_strip_says_what_was_kept_and_what_is_next(scene):
    here = scene("voting")
    here.now = here.place.at(here.place.opens) + 4 * 60 * MINUTE
    here.crew.clock(here.now)
    page = reading(here, "11:00")
    assert re.fullmatch(r"/now\?kept=\d+-\d+", page.path), page.path
    assert "Kept: the 11:00 reading ( entry" in plain(page)
    assert 'id="kept"' not in here.window.get("/now?kept=9999-9999").text
    assert 'id="kept"' not in here.window.get("/now?kept=1-2-3").text


def test_on_the_days_line_voting_alone_is_twice_as_long(scene):
    assert re.findall(r'<li class="double"><b>([^<]*)', scene("voting").window.get("/now").text) == ["Voting"]


def test_what_was_done_is_told_behind_a_colon_or_as_a_sentence_of_its_own(scene):
    text = scene("remark").window.get("/steps/closing").text
    assert re.search(r"Count the unused ballots\. Unused ballots: \d+ of style", text)
    assert re.search(r"Open the emergency bin of box B1 and clear it[.:] \w+", text) and ": Unused ballots:" not in text


def test_readings_that_nobody_took_are_left_out_and_not_counted_as_done(scene):
    here = scene("voting")
    here.now = here.place.at(here.place.opens) + 6 * 60 * MINUTE
    here.crew.clock(here.now)
    reading(here, "13:00")
    assert "Voting, 4 of 13 done, 2 left out" in plain(here.window.get("/steps/voting"))
    assert "Voting, 4 of 12 readings signed, 2 not taken" in plain(here.window.get("/now"))


def test_a_note_that_was_kept_is_told_in_words(scene):
    here = scene("voting")
    here.hold()
    page = here.window.send(here.form("/note/left"), here.filled(here.form("/note/left"), "left"))
    assert re.search(r"Kept as entry \d+: Voter left", plain(page))


def test_an_open_page_is_told_what_waits_and_what_is_due_within_one_asking(scene):
    here = scene("voting")
    other = here.another()
    before = json.loads(other.get("/live").text)
    here.now = here.place.at(here.place.opens) + 4 * 60 * MINUTE
    here.crew.clock(here.now)
    due = json.loads(other.get("/live").text)
    assert due["state"] != before["state"] and due["now"] == here.now and due["runs"] is False
    assert [s["do"] for s in due["strips"]] == ["Take the 11:00 reading"]
    path = f"/note/jam/{here.place.tabulators[0].id}"
    values = here.filled(here.form(path), "jam", here.place.tabulators[0].id) | {"counted": "yes", "went": "main-bin"}
    page = here.window.send(here.form(path), here.signed(values, "lindqvist"))
    assert page.path.startswith("/sign/"), page.said()
    waits = json.loads(other.get("/live").text)
    assert waits["state"] != due["state"] and waits["waiting"] == [page.path.rsplit("/", 1)[1]]
    assert any(s["href"] == page.path for s in waits["strips"])
    assert "Signed once, by Ada Lindqvist." in plain(other.get("/now"))


def test_asking_is_no_touch_and_changes_nothing(scene):
    here = scene("voting")
    here.hold()
    length, used = (
        here.length,
        here.room.gate.sessions.get(here.window.cookies[next(iter(here.window.cookies))], here.now),
    )
    here.window.get("/live")
    assert here.length == length
    assert here.room.gate.sessions.get(here.window.cookies[next(iter(here.window.cookies))], here.now) == used


def test_while_counts_are_folded_away_now_and_the_open_pages_tell_no_figure(scene):
    here = scene("unused")
    text = plain(here.window.get("/now"))
    assert here.room.day.folded_away and "How it stood" not in text and "Last notes" not in text
    assert here.window.get(f"/look/{here.room.day.readings[-1].number}").status == 409
    live = here.window.get("/live").text
    assert not re.search("ballots? than|ran back|counters", live) and "Count: look" not in live


def test_with_script_off_a_page_says_of_which_minute_it_is(scene):
    here = scene("voting")
    assert re.search(
        r'<noscript><p>This page shows \d\d:\d\d and does not move by itself. <a href="/now">',
        here.window.get("/now").text,
    )


# --- the demo's whole day, asked each quarter hour


class Asked(Day):
    """The demo's day; on the way from one moment to the next Now is asked at each quarter hour."""

    asked = 0
    headings: set[str]

    def go(self, ms: int) -> None:
        quarter = self.now - self.now % QUARTER + QUARTER
        while quarter < ms:
            self.now = quarter
            self.crew.clock(quarter)
            self.ask()
            quarter += QUARTER
        super().go(ms)

    def ask(self) -> None:
        self.asked += 1
        page, day, place = self.crew.window.get("/now"), self.site.day, self.place
        head, closes = heading(page), checklist.closing_hour(place, day)
        self.headings.add(head)
        if head.startswith("Polls are open until"):
            assert day.opened and not day.closed and self.now < closes
        if head.startswith("Polls open at"):
            assert not day.opened and self.now < place.at(place.opens)
        assert (head == "Every step is done") == bool(day.last("depart"))
        assert ("How it stood at" in page.text) <= (not day.folded_away)
        alarm = day.readings and day.readings[-1].alarm and not day.last("first-look")
        assert ("Look now" in page.text) == bool(alarm and not day.closed), (head, self.now)
        assert ("At the last reading: " in page.text) == bool(alarm and day.closed and not day.folded_away)
        assert ("is shown when the counts are signed" in page.text) == bool(alarm and day.folded_away)
        for at in re.findall(r"reading opens at (\d\d:\d\d)", page.text):
            assert at > self.crew.wall(page)
        for over in re.findall(r"Overdue by .*?>(\d+) minutes", page.text):
            assert int(over) > 5
        for href in re.findall(r'class="button(?: do)?" href="(/step/[^"]+)"', page.text):
            self.opens(href)

    def opens(self, href: str) -> None:
        """The step that is offered has its form, or the page of its own; it is not refused."""
        page = self.crew.window.get(href)
        assert page.status == 200 and f"/steps/{href}" not in page.text
        assert "Keep what comes first" not in page.text and "is not asked here now" not in page.text, href


@pytest.fixture
def demo_day(tmp_path):
    import webapp

    toml = (rehearsed_county.HERE / "place.toml").read_bytes()
    place = place_file.read(toml)
    codes = rehearsed_county.prepare(tmp_path, (rehearsed_county.HERE / "office.toml").read_bytes(), [toml])[place.id]
    begin = place.at(place.opens) - 105 * MINUTE
    app = webapp.create_app(Settings("place", tmp_path / "places" / place.id, port=0, clock="scripted", start=begin))
    running = serve_in_thread(app)
    day = Asked(place, invented(place, 1), running.port, codes, story.told())
    day.site, day.headings = app.extensions["room"], set()
    yield day
    running.stop()
    app.extensions["room"].close()


def test_the_demos_whole_day_is_told_truly_each_quarter_hour(demo_day):
    assert demo_day.play()
    demo_day.ask()
    assert demo_day.asked > 50
    assert {"Polls are open until 20:00", "Every step is done"} <= demo_day.headings
    assert any("no ballot on a counter" in head for head in demo_day.headings)
    assert Window(demo_day.crew.window.port).get("/live").status == 200
