"""A hand at the tablet: opens what Now offers, fills the form it sees, signs, and passes the tablet to the second signer."""

from demo_precinct.http_window import Form, _Reader

TOUCHED = """([scope, values]) => {
  let taps = 0, typed = 0;
  const touch = (box) => {
    if (!box.checkVisibility() || box.disabled || box.readOnly) throw new Error(`nobody can touch ${box.name}`);
    taps += 1;
  };
  for (const [name, value] of values) {
    const boxes = [...document.querySelectorAll(`${scope} [name="${name}"]`)];
    if (!boxes.length) throw new Error(`the page has no ${name}`);
    if (["radio", "checkbox"].includes(boxes[0].type)) {
      for (const box of boxes) {
        const wanted = [value].flat().includes(box.value);
        if (wanted === box.checked || (!wanted && box.type === "radio")) continue;
        touch(box);
        box.click();
        if (box.checked !== wanted) throw new Error(`${name} is not as it was put`);
      }
    } else if (String(value) !== boxes[0].value) {
      touch(boxes[0]);
      typed += 1;
      boxes[0].focus();
      boxes[0].value = String(value);
      for (const kind of ["input", "change"]) boxes[0].dispatchEvent(new Event(kind, { bubbles: true }));
    }
  }
  return [taps, typed];
}"""


class Hand:
    """One browser page on one scene."""

    def __init__(self, page, scene):
        self.page, self.scene = page, scene
        self.root = f"http://localhost:{scene.running.port}"
        self.taps = 0  # one for each control touched
        self.typed = 0  # of these, the fields in which figures or words were typed

    def go(self, path: str) -> None:
        self.page.goto(self.root + path)

    @property
    def path(self) -> str:
        return self.page.url.removeprefix(self.root)

    def form(self, action: str) -> Form:
        """The form that posts to this address, else the first one below it."""
        forms = [f for f in _Reader.read(self.page.content())[0] if f.method == "post" and f.action.startswith(action)]
        return next((f for f in forms if f.action == action), forms[0])

    def write(self, values: dict) -> None:
        """Put these values into the controls of the page that a person can touch: tick, choose, type.

        All in one go: a hand of the browser's own takes a fiftieth of a second of a core for each control.
        """
        taps, typed = self.touch(values)
        self.taps += taps
        self.typed += typed

    def touch(self, values: dict, scope: str = "") -> tuple[int, int]:
        """How many controls were touched, and how many of them typed into, for these values within `scope` (CSS)."""
        return tuple(self.page.evaluate(TOUCHED, [scope, list(values.items())]))

    def sign(self, form: Form, action: str, but: tuple[str, ...] = ()) -> str:
        """Choose somebody who may sign, type their PIN, press the one button that writes."""
        who = next(o for o in form.controls["signer"].options if o in self.scene.pins and o not in but)
        inside = self.page.locator(f'form[action="{action}"]')
        self.show_names(inside, who)
        self.touch({"signer": who, "pin": self.scene.pins[who]}, f'form[action="{action}"]')
        self.press(inside.locator("button.do"))
        self.taps += 3
        return who

    def show_names(self, inside, who: str) -> None:
        """Open the fold of further names where this one stands in it."""
        fold = inside.locator(f'details:not([open]):has([name="signer"][value="{who}"]) > summary')
        if fold.count():
            fold.click()
            self.taps += 1

    def press(self, button) -> None:
        """The press that sends a form or follows a link; what is read next is the page it led to."""
        with self.page.expect_navigation():
            button.click()

    def fill_and_sign(self, action: str, step: str, at: str = "", **own) -> None:
        form = self.form(action)
        self.write({**self.scene.filled(form, step, at), **{k: v for k, v in own.items() if k in form.controls}})
        if "signer" in form.controls:
            self.sign(form, form.action)
        else:
            self.press(self.page.locator(f'form[action="{form.action}"] button.do'))
            self.taps += 1
        while self.path.startswith("/sign/"):
            self.sign(self.form(self.path), self.path)

    def oath(self, person: str) -> None:
        self.go(f"/people/oath/{person}")
        pin = self.scene.pins[person]
        self.write({"oath": "yes", "code": self.scene.codes[person], "pin": pin, "pin_again": pin})
        self.press(self.page.locator("button.do"))
        assert self.path == "/people", self.page.locator("[role=alert]").all_inner_texts()

    def hold(self, person: str = "lindqvist") -> None:
        self.go("/tablet")
        self.show_names(self.page.locator('form[action="/tablet/take"]'), person)
        self.touch({"signer": person, "pin": self.scene.pins[person]}, 'form[action="/tablet/take"]')
        self.press(self.page.locator('form[action="/tablet/take"] button.do'))
