"""Every page with a form, found by walking the app's own addresses: it puts aside what is typed on it, or stores nothing and says so, or stands below
with the reason. Then the laptop is killed once, with something typed on every page, and all of it is there again."""

from html.parser import HTMLParser

import pytest

from demo_precinct.crew import Crew
from demo_precinct.http_window import Window
from tests.browser.laptop import Laptop
from tests.matrix import some
from tests.pages.walk import one_of_each_route, paths

MOMENTS = ("sworn", "voting", "unused", "tape-prints", "remark", "packet")
NEVER_PUT_ASIDE = {
    "/people/oath/": "the code of a slip and a new PIN are stored nowhere before they are set",
    "/people/pin/": "the same",
    "/tablet": "who holds the tablet, and its light: one tap and a PIN",
    "/sign/": "a name and a PIN",
    "/note/handed-back": "each tap is kept at once",
    "/held/aside": "the tablet itself keeps the reason, beside the entry that was refused (static/outbox.js)",
    "/held": "entries of tablets, which are on the tablet; codes, each taken in as it is read",
    "/record/export": "a tick and a PIN",
    "/packet/make": "a name and a PIN",
    "/tablets": "a code of two minutes",
    "/pair": "a code of two minutes",
    "/practice": "the clock of a practice day",
}


class Forms(HTMLParser):
    """(action, attributes, names that a person fills in besides signer and PIN) of each form that posts."""

    def __init__(self, text: str):
        super().__init__()
        self.found: list[tuple[str, dict, list[str]]] = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        if tag == "form":
            self.found.append((given.get("action", ""), given, []))
        elif tag in ("input", "textarea", "select") and self.found and given.get("name"):
            own = given["name"].rpartition("/")[2]
            if given.get("type") not in ("hidden", "password", "submit", "file") and own not in ("signer", "pin"):
                self.found[-1][2].append(given["name"])


def filled_in(text: str) -> list[tuple[str, dict, list[str]]]:
    """The forms of a page on which something can be lost; a paper has none."""
    if "<form" not in text or text.startswith("%PDF"):
        return []
    return [one for one in Forms(text).found if one[1].get("method") == "post" and one[2]]


@pytest.mark.parametrize("moment", some(["sworn", "unused", "packet"], MOMENTS))
def test_a_form_puts_aside_what_is_typed_or_says_that_it_does_not(scene, moment):
    here = scene(moment)
    here.hold()
    silent, seen = [], 0
    for path in one_of_each_route(here, paths(here)) + [f"/step/{t.key}" for t in here.room.tasks(here.room.now())]:
        page = here.window.get(path)
        for action, attrs, names in filled_in(page.text) if page.status == 200 else ():
            seen += 1
            blind = "data-blind" in attrs and "Nothing typed here is stored before it is signed." in page.text
            if "data-draft" not in attrs and not blind and not action.startswith(tuple(NEVER_PUT_ASIDE)):
                silent.append((path, action, names[:4]))
    assert seen > 5 and silent == []


@pytest.mark.parametrize("moment", some(["voting"], ["sworn", "voting"]))
def test_one_kill_of_the_laptop_with_something_typed_on_every_page_loses_nothing(scene, moment):
    here = scene(moment)
    begun = {}
    steps = {task.step.id: f"/step/{task.key}" for task in here.room.tasks(here.room.now())}
    routes = one_of_each_route(here, paths(here, kinds=False))
    every = dict.fromkeys([*routes, *steps.values(), *(f"/note/{s.id}" for s in here.room.notes.tiles())])
    pins, now, person = dict(here.crew.pins), here.now, here.place.officials[0].id
    here.stop()
    one = Laptop(here.folder, now).start()
    try:
        window = Window(one.port, "localhost")
        Crew(here.place, window, lambda *_: None, pins).hold(person)
        for path in every:
            page = window.get(path)
            for _, attrs, names in filled_in(page.text) if page.status == 200 else ():
                where = attrs.get("data-draft", "")
                if not where or where in begun or "data-here" in attrs:  # the tablet's own store has it
                    continue
                form = next(one for one in page.forms if one.action == attrs["action"] and names[0] in one.controls)
                if "csrf_token" not in form.controls:
                    continue  # the shell of a tablet out of reach, which puts aside in its own store
                name = next((n for n in names if form.controls[n].kind in ("input", "textarea")), names[0])
                value = form.controls[name].options[0] if form.controls[name].options else "7"
                answer = window.post(f"/draft?path={where}", form.filled({name: value}))
                assert answer.status == 200 and '"stored":true' in answer.text.replace(" ", ""), where
                begun[where] = (path, attrs["action"], name, value)
        one.kill()
        one.start()
        lost = [
            where
            for where, (path, action, name, value) in begun.items()
            if not any(
                value == one.controls[name].value
                for one in window.get(path).forms
                if name in one.controls and one.action == action
            )
        ]
    finally:
        one.kill()
        here.windows = []
        here.start()
    assert len(begun) > 15 and lost == []
