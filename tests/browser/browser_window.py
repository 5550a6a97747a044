"""A window like that of the rehearsal, whose pages are opened, filled in and sent in a real browser."""

from collections.abc import Mapping

from demo_precinct.http_window import Form, Page

OPENED = "document.querySelectorAll('main details:not([open])').forEach((fold) => (fold.open = true))"


class BrowserWindow:
    """One browser page on one server: what `demo_precinct.http_window.Window` does over HTTP, done by a hand."""

    def __init__(self, page, port: int):
        self.page, self.port, self.root = page, port, f"http://localhost:{port}"

    def get(self, path: str) -> Page:
        """The page as the browser has it; files (papers, packets) are fetched beside it."""
        if path.rpartition(".")[2] in ("pdf", "cose", "png"):
            got = self.page.context.request.get(self.root + path)
            return Page(got.status, path, got.body(), got.headers)
        answer = self.page.goto(self.root + path)
        return self.shown(answer.status if answer else 200)

    def opened(self, path: str) -> Page:
        """This page, loaded anew."""
        return self.get(path)

    def shown(self, status: int = 200) -> Page:
        """The page that is open now, read anew."""
        path = self.page.url.removeprefix(self.root).partition("?")[0]
        return Page(status, path, self.page.content().encode(), {})

    def send(self, form: Form, values: Mapping[str, str | list[str]] | None = None) -> Page:
        """Write these values into the form that is open, press the button that sends it."""
        inside = self.page.locator(f'form[action="{form.action}"]').first
        self.page.evaluate(OPENED)
        pressed = inside.locator("button.do").first
        for name, value in (values or {}).items():
            if form.controls[name].kind == "submit":
                pressed = inside.locator(f'button[name="{name}"][value="{value}"]').first
            elif form.controls[name].kind != "hidden":
                write(inside, name, value)
        if not pressed.count():
            pressed = inside.locator("button:not([type=button]):not([formaction])").first
        with self.page.expect_navigation() as led:
            pressed.click()
        return self.shown(led.value.status if led.value else 200)


def write(inside, name: str, value) -> None:
    """Put a value into the controls of this name: tick, choose, type."""
    boxes = inside.locator(f'[name="{name}"]')
    kind = boxes.first.evaluate("box => box.tagName === 'SELECT' ? 'select' : box.type")
    if kind == "select":
        boxes.first.select_option(value)
    elif kind in ("radio", "checkbox"):
        wanted = value if isinstance(value, list) else [value]
        for box in boxes.all():
            if (box.get_attribute("value") in wanted) != box.is_checked() and (
                kind == "checkbox" or not box.is_checked()
            ):
                box.set_checked(not box.is_checked(), force=True)
    elif boxes.first.input_value() != value:
        boxes.first.fill(str(value))
