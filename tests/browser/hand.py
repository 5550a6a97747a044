"""A hand at the tablet: opens what Now offers, fills the form it sees, signs, and passes the tablet to the second signer."""

from demo_precinct.http_window import Form, _Reader


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
        """Put these values into the controls of the page, as a person would: tick, choose, type."""
        for name, value in values.items():
            boxes = self.page.locator(f'[name="{name}"]')
            kind = boxes.first.get_attribute("type")
            if kind in ("radio", "checkbox"):
                for box in boxes.all():
                    wanted = box.get_attribute("value") in (value if isinstance(value, list) else [value])
                    if wanted != box.is_checked() and (wanted or kind == "checkbox"):
                        box.set_checked(wanted)
                        self.taps += 1
            elif value != boxes.first.input_value():
                boxes.first.fill(str(value))
                self.taps += 1
                self.typed += 1

    def sign(self, form: Form, action: str, but: tuple[str, ...] = ()) -> str:
        """Choose somebody who may sign, type their PIN, press the one button that writes."""
        who = next(o for o in form.controls["signer"].options if o in self.scene.pins and o not in but)
        inside = self.page.locator(f'form[action="{action}"]')
        self.show_names(inside, who)
        inside.locator(f'[name="signer"][value="{who}"]').check()
        inside.locator('[name="pin"]').fill(self.scene.pins[who])
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
        self.page.locator(f'form[action="/tablet/take"] [name="signer"][value="{person}"]').check()
        self.page.locator('form[action="/tablet/take"] [name="pin"]').fill(self.scene.pins[person])
        self.press(self.page.locator('form[action="/tablet/take"] button.do'))
