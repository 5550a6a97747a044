"""The demo's day walked in a real browser on a clock that runs: `python tests/walked_day.py [--out FOLDER] [--until MOMENT]`.

A tired chair at a tablet of 820x1180, from the ready page to the car. Mistakes are made on purpose; at each place where an earlier walk found
something, the page is asked what it says now, and a picture is taken. Prints one line a finding; exit 1 where a page says what it must not.
"""

import argparse
import sys
import tempfile
from dataclasses import dataclass, field
from datetime import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from playwright.sync_api import sync_playwright  # noqa: E402 - the folder above must be found first

import webapp  # noqa: E402
from demo_precinct import rehearsed_county  # noqa: E402
from demo_precinct.crew import Crew  # noqa: E402
from demo_precinct.rehearsed_day import MINUTE, Day, Story  # noqa: E402
from demo_precinct.true_figures import invented  # noqa: E402
from tests.browser.browser_window import BrowserWindow  # noqa: E402
from tests.browser.conftest import SIZES, launched  # noqa: E402
from webapp.precinct.place import place_file  # noqa: E402
from webapp.serving.server import serve_in_thread  # noqa: E402
from webapp.settings import Settings  # noqa: E402


def moment(place, hhmm: str) -> int:
    return place.at(time.fromisoformat(hhmm))


@dataclass
class Walk:
    """What was seen, by finding; the pictures."""

    page: object
    out: Path
    seen: list[tuple[str, str, bool]] = field(default_factory=list)
    taken: int = 0

    def picture(self, name: str) -> None:
        self.taken += 1
        put = "where => { const bar = document.querySelector('.places'); if (bar) bar.style.position = where; }"
        self.page.evaluate(put, "static")  # else it lies across a whole page's picture
        self.page.screenshot(path=self.out / f"{self.taken:02}-{name}.png", full_page=True)
        self.page.evaluate(put, "")

    def says(self, finding: str, name: str, has=(), lacks=(), what: str = "main") -> str:
        """The words of the page that is open, held against what must and must not be there; a picture."""
        self.picture(f"{finding.replace(' ', '-')}-{name}")
        text = " ".join(self.page.locator(what).first.inner_text().split())
        missing = [words for words in has if words not in text]
        wrong = [words for words in lacks if words in text]
        good = not missing and not wrong
        told = "; ".join(has) or text[:100]
        self.note(finding, told if good else f"{name}: lacks {missing}, has {wrong}", good)
        return text

    def note(self, finding: str, told: str, good: bool = True) -> None:
        self.seen.append((finding, told, good))
        print(f"{'' if good else 'WRONG '}{finding}: {told}", flush=True)


class Walked(Day):
    """The day's director with the browser's window."""

    def __init__(self, walk: Walk, room, place, port: int, codes):
        super().__init__(place, invented(place, 7), port, codes, Story({}, {}, {}, differs=True))
        self.walk, self.room, self.page = walk, room, walk.page
        self.crew = Crew(place, BrowserWindow(walk.page, port), self.answers, self.crew.pins)
        self.crew.clock = room.clock.set
        self.answers.wall = room.clock.now
        self.hours = self.readings()

    def at(self, hhmm: str) -> None:
        self.go(moment(self.place, hhmm))

    def arrive_but_oaths(self) -> None:
        """Everybody is written down; the oaths come after."""
        form = self.crew.window.get("/step/arrivals").form("/step/arrivals")
        self.crew.sent(form, self.crew.values(form, "arrivals", ""))

    def see(self, path: str, finding: str, name: str, has=(), lacks=(), what: str = "main") -> str:
        self.crew.window.get(path)
        return self.walk.says(finding, name, has, lacks, what)

    def send(self, path: str, values: dict, who: str = "", action: str = ""):
        """One form of a page, signed once by `who`; the page it led to."""
        form = self.crew.window.get(path).form(action or path)
        signed = {"signer": who, "pin": self.crew.pins[who]} if who else {}
        return self.crew.window.send(form, {**values, **signed})

    def filled(self, path: str, step: str, at: str = "", **own) -> dict:
        form = self.crew.window.get(path).form(path)
        return {k: v for k, v in self.crew.values(form, step, at).items() if k not in ("signer", "pin")} | own

    def on(self, until: str) -> None:
        """The steps that Now offers, up to this one."""
        for _ in range(80):
            key = self.crew.next_key()
            if key is None and self.hours:
                self.hour(self.hours)
                continue
            if key is None or key.partition(":")[0] == until:
                return
            self.step(key, self.hours)


def dawn(day: Walked) -> None:
    page = day.page
    day.at("05:15")
    day.see("/ready", "33", "ready", has=["listed"], lacks=["SHA-256"])
    day.send("/step/arrivals", {"present.lindqvist": "now then", "present.okafor": "25:10"})
    day.walk.says(
        "18", "arrivals-refused", lacks=["still to come", "at least one official arrived", "one party are written"]
    )
    day.crew.window.get("/step/arrivals")
    page.locator('button[data-key="now"]').first.click()
    day.walk.note("17", f"here now by one tap: {page.locator('input.write').first.input_value()}")
    day.arrive_but_oaths()
    day.send(
        "/people/oath/lindqvist",
        {"oath": "yes", "code": day.codes["lindqvist"], "pin": "19580412", "pin_again": "19580412"},
    )
    day.walk.says("20", "oath-pin-of-a-date", has=["date"])
    for official in day.place.officials:
        day.crew.oath(official.id, day.codes[official.id])
    day.crew.hold("lindqvist")
    day.see("/now", "21", "now-sworn", has=["Ada Lindqvist"], what="header")


def opening(day: Walked) -> None:
    page = day.page
    day.crew.window.get("/step/roles")
    page.locator('[name="exits_clear"]').check()
    page.locator('[name="second_in_command"][value="lindqvist"]').check()
    page.locator('nav a[href="/now"]').click()
    page.wait_for_timeout(2_000)
    day.see("/now", "4", "now-with-a-draft", has=["Begun at", "by Ada Lindqvist, not signed"])
    page.go_back()
    page.wait_for_timeout(800)
    day.walk.note(
        "4",
        f"Back: ticked again: {page.locator('[name=exits_clear]').is_checked()}",
        page.locator("[name=exits_clear]").is_checked(),
    )
    same = dict.fromkeys(("second_in_command", "securer", "list_keeper", "balancer"), "lindqvist")
    day.send("/step/roles", day.filled("/step/roles", "roles", **same), "lindqvist")
    day.walk.says("35", "one-name-for-every-role", has=["Ada Lindqvist"])
    day.on("case-seals")
    day.crew.window.get("/step/case-seals")
    fields = page.locator("main input.write:visible").count()
    day.walk.picture("11-opening-seals")
    text = page.inner_text("main")
    day.walk.note("11", f"{fields} fields are open, {page.evaluate('document.body.scrollHeight')} px", fields <= 30)
    day.walk.note(
        "12", "no door has two names", not ("Emergency bin under T1" in text and "Emergency bin of box B1" in text)
    )
    day.send("/step/case-seals", day.filled("/step/case-seals", "case-seals") | {}, "lindqvist")
    day.walk.says("15", "what-the-second-signs", has=["What you sign"])
    day.crew.second(day.crew.window.shown())
    day.walk.says("15", "kept-and-next", has=["Kept:", "Next:"])
    day.on("clocks")
    form = day.filled("/step/clocks", "clocks")
    day.send("/step/clocks", {**form, next(k for k in form if k.startswith("minutes_off")): "58"})
    day.walk.says("32", "a-clock-58-off", has=["near 60"])
    day.on("polls-open")
    day.see("/now", "1", "now-before-the-hour", has=["Polls open at 07:00"], lacks=["Every step is done"])
    day.send("/step/polls-open", day.filled("/step/polls-open", "polls-open", time="05:20"), "lindqvist")
    day.walk.says("10", "opened-too-early", has=["07:00"])
    day.at("07:00")
    day.crew.hold("lindqvist")
    day.send(
        "/step/polls-open",
        day.filled("/step/polls-open", "polls-open", found="The door was stuck until 07:04.", done="Office told."),
        "lindqvist",
    )
    day.walk.says("6", "exception-without-its-box", has=["The door was stuck until 07:04"])
    day.crew.second(day.crew.window.shown())
    day.go(day.now + MINUTE)
    day.see(
        "/now",
        "1",
        "now-0701",
        has=["Polls are open until 20:00", "08:00 reading opens at 07:45"],
        lacks=["Every step is done", "Keep the laptop closed"],
    )


def morning(day: Walked) -> None:
    page = day.page
    day.see("/note", "9", "note")
    for kind in ("spoiled", "provisional", "found", "seal-applied"):
        day.crew.window.get(f"/note/{kind}")
        ticked = page.locator("main input:checked:visible").count()
        day.walk.picture(f"09-{kind}")
        day.walk.note("9", f"{kind}: {ticked} things ticked beforehand", ticked == 0)
    day.see("/note/spoiled?style=3A", "9", "spoiled-tile", has=["one ballot of"])
    page.locator("button.do").first.click()
    page.wait_for_load_state()
    day.walk.says("15", "spoiled-kept", has=["Kept"])
    day.see("/note/handed-back", "14", "handed-back")
    page.locator('button[name="cell"][value$="new-ballot"]').first.click()
    page.wait_for_load_state()
    day.walk.says("14", "handed-back-new-ballot", has=["Counted"])
    day.see("/note/bin-emptied/B1", "13", "bin-emptied", has=["A seal is on: main bin"])
    day.see("/note/power-lost", "34", "power-lost", has=["Power lost now"])
    page.get_by_role("button", name="Power lost now").click()
    page.wait_for_url("**/now")
    day.walk.says("34", "now-power-lost", has=["Power lost", "not signed"])
    day.at("08:00")
    day.crew.hold("lindqvist")
    reading = {"counters.T1": "24", "counters.T2": "23", "check_ins.W3": "25", "check_ins.W4": "20", "in_hand": "4"}
    day.send("/step/hourly:08:00", reading, "lindqvist")
    day.walk.says("2", "after-the-reading", has=["2 more ballots than", "I mistyped: change it", "It is so: look now"])
    day.see(
        "/now",
        "2",
        "now-with-the-alarm",
        has=["2 more ballots than check-ins", "Look now"],
        lacks=["Every step is done"],
    )
    number = day.room.ledger.length
    day.send(f"/record/{number}/correct", {"check_ins.W3": "30", "reason": "Misread: 30, not 25."}, "lindqvist")
    packs = next(entry.number for entry in day.room.ledger.entries() if entry.kind == "packs")
    day.send(f"/record/{packs}/correct", {"masters": "5", "reason": "Five were held back."}, "lindqvist")
    day.walk.says("24", "correction-old-and-new", has=["this changes", "Was", "Now", "Why: Five were held back."])
    page.get_by_role("button", name="Take the first signature back").click()
    page.wait_for_load_state()
    day.see("/count", "S3", "count")
    day.hours.pop(0)
    day.answers.reading = day.hours[0][1]
    day.at("09:22")
    day.crew.hold("lindqvist")
    day.see("/now", "30", "now-overdue", has=["Overdue by 22 minutes", "Take the 09:00 reading"])


def tablets(day: Walked) -> None:
    """Two tablets, a signature that waits, one that lapses; a clock that goes on."""
    page, other = day.page, day.page.context.browser.new_context(viewport={"width": 820, "height": 1180}).new_page()
    other.goto(day.crew.window.root + "/now")
    before = other.locator("time[data-now]").inner_text()
    day.send("/note/jam/T1", day.filled("/note/jam/T1", "jam", "T1", counted="yes", went="main-bin"), "lindqvist")
    other.get_by_text("Signed once").wait_for(timeout=6_000)
    text = " ".join(other.inner_text("main").split())
    other.screenshot(path=day.walk.out / "16-other-tablet.png", full_page=True)
    day.walk.note("3", "the signature that waits appeared on the other tablet within 6 s")
    day.walk.note("16", text[text.find("Signed once") : text.find("Signed once") + 90], "Ballot jammed" in text)
    waits = page.url
    day.go(day.room.clock.now() + 60_000)
    other.wait_for_function(
        "before => document.querySelector('time[data-now]').textContent !== before", arg=before, timeout=10_000
    )
    day.walk.note("3", f"the head's clock went from {before} to {other.locator('time[data-now]').inner_text()}")
    day.go(day.room.clock.now() + 31 * MINUTE)  # of a single ballot only the quarter hour is kept
    day.crew.hold("lindqvist")
    page.goto(waits)
    day.walk.says("5", "lapsed", has=["lapsed"])
    day.see("/note/jam/T1", "5", "lapsed-page", has=["lapsed"])
    chosen = page.locator('[name="went"]:checked').count()
    day.walk.note("5", "the page is filled in again", chosen == 1)
    other.context.close()


def afternoon(day: Walked) -> None:
    day.see("/people/vouch", "23", "vouch", has=["New person or lost PIN"])
    day.on("noon-look")
    day.send("/step/noon-look", day.filled("/step/noon-look", "noon-look"), "lindqvist")
    day.page.evaluate("document.querySelectorAll('main details').forEach((fold) => (fold.open = true))")
    day.walk.says(
        "22", "one-party-only", has=["Nobody for this seat is here"], lacks=["no other party has an official"]
    )
    day.crew.second(day.crew.window.shown())
    day.on("line-end")
    day.at("19:02")
    day.see("/now", "29", "now-1902", has=["Polls close at 20:00", "20:00: Stand behind the last voter"])
    day.see("/steps/voting", "28", "steps-voting")
    day.see("/steps/closing", "28", "steps-closing")


def closing(day: Walked) -> None:
    page = day.page
    day.at("20:01")
    day.crew.hold("lindqvist")
    day.on("unused")
    day.see("/now", "1", "now-blind", lacks=["How it stood"])
    day.crew.window.get("/step/unused")
    filled = [box.get_attribute("name") for box in page.locator("main input.write:visible").all() if box.input_value()]
    day.walk.says("9", "count-before-you-look")
    day.walk.note("9", f"blind counts that come filled in: {filled}", not filled)
    day.send("/step/unused", {}, "lindqvist")
    day.walk.says("19", "blind-refused", has=["Box B1: Enter how many were fed", "Box B2: Enter how many were fed"])
    day.on("first-look")
    day.see(
        "/balance",
        "7",
        "first-look",
        has=["tapes are still to come", "not checked"],
        lacks=["Every line agrees", "onsistent with"],
    )
    day.on("tape-prints")
    day.see("/now", "26", "now-tapes")
    day.see(
        "/tape/T1", "26", "tape-keying", has=["Print the tapes of T1, then key one", "Print one for each receiver."]
    )
    ways = page.locator("nav.places a").all_inner_texts()
    day.walk.note("4", f"ways out of a keying: {ways}", len(ways) == 1)
    day.on("remark")
    day.see("/balance", "27", "balance")
    day.on("statement")
    day.see("/step/statement", "25", "statement", has=["Print it, ready to sign", "In words"])
    day.on("containers-filled")
    day.see("/step/containers-filled", "37", "sealing", has=["The place file lists 40", "The seal book has"])
    day.on("packet")
    day.see("/ink", "25", "ink")
    day.see("/packet", "S3", "packet-make")
    day.on("copies")
    day.see("/step/copies", "37", "leaving")
    day.see("/carry", "37", "carry")
    day.see("/boot", "37", "boot")
    day.on("none")
    day.see("/now", "1", "now-done", has=["Every step is done", "Keep the laptop closed"])


PARTS = (dawn, opening, morning, tablets, afternoon, closing)


def walked(playing, out: Path, until: str) -> Walk:
    """The day, part after part."""
    toml = (rehearsed_county.HERE / "place.toml").read_bytes()
    place = place_file.read(toml)
    with tempfile.TemporaryDirectory(prefix="tapeseal-walk-") as folder:
        codes = rehearsed_county.prepare(Path(folder), (rehearsed_county.HERE / "office.toml").read_bytes(), [toml])[
            place.id
        ]
        start = moment(place, "05:14")
        app = webapp.create_app(
            Settings("place", Path(folder) / "places" / place.id, port=0, clock="scripted", start=start)
        )
        running, room = serve_in_thread(app), app.extensions["room"]
        room.clock.go()
        try:
            with launched(playing) as browser:
                width, height = SIZES["tablet upright"]
                page = browser.new_context(
                    viewport={"width": width, "height": height}, reduced_motion="reduce"
                ).new_page()
                page.set_default_timeout(15_000)
                walk = Walk(page, out)
                day = Walked(walk, room, place, running.port, codes)
                for part in PARTS:
                    part(day)
                    if part.__name__ == until:
                        break
                return walk
        finally:
            running.stop()
            room.close()


def main() -> int:
    said = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    said.add_argument("--out", type=Path, default=ROOT / "walked-day", help="folder for the pictures")
    said.add_argument(
        "--until", default="", choices=["", *(part.__name__ for part in PARTS)], help="stop after this part of the day"
    )
    options = said.parse_args()
    options.out.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as playing:
        walk = walked(playing, options.out, options.until)
    wrong = [one for one in walk.seen if not one[2]]
    print(f"{len(walk.seen)} looks, {walk.taken} pictures, {len(wrong)} wrong")
    return int(bool(wrong))


if __name__ == "__main__":
    sys.exit(main())
