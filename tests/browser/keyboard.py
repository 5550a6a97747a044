"""A window worked by the keyboard alone: Tab to each control in turn, type, arrow keys and Space to choose, Enter to send.

The same page comes many times in a day (a reading each hour, an oath for each official). The first one of a kind is shown in the browser: its HTML, fetched
with the same cookies, takes the place of the page that stands there, since without script a page is its HTML. Further ones go over HTTP. A form is worked by
keys if it has a kind of control that no form before had; of the others every control is put under the focus once, and they go over HTTP. With `--all` every
page is opened by the browser and every form worked by keys.
"""

import re
from collections import Counter
from collections.abc import Callable, Mapping

from demo_precinct.http_window import Form, Page, Stuck, Window
from tests.matrix import ALL

IT = """it => {
  const form = it.closest("form"), box = (it.closest("label") ?? it).getBoundingClientRect();
  return {tag: it.tagName, name: it.getAttribute("name") ?? "", type: it.type ?? "", value: it.value ?? "", checked: Boolean(it.checked), writes: it.matches("button.do"),
          action: form?.getAttribute("action") ?? "", folded: it.tagName === "SUMMARY" && !it.parentElement.open, link: it.tagName === "A" && !it.matches(".button, .places a"), skip: it.matches(".skip"),
          high: Math.round(box.height), seen: box.width > 0 && box.height > 0 && [it, it.closest("label")].some(one => one && getComputedStyle(one).outlineStyle !== "none"), html: it.outerHTML.slice(0, 110)}
}"""
LOOK = f"() => ({IT})(document.activeElement)"
LOOK_OVER = f"""action => {{  // every control of the form under the focus, one after the other, folds open
  const form = [...document.forms].find(one => one.getAttribute("action") === action);
  const folds = [...form.querySelectorAll("details:not([open])")];
  folds.forEach(fold => (fold.open = true));
  const found = [...form.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary")].filter(one => !one.disabled && one.checkVisibility()).map(one => {{
    one.focus();
    const kind = [one.tagName, one.type ?? "", one.className, Boolean(one.closest("details")), one.closest("fieldset, label")?.className ?? ""].join(".");
    return {{...({IT})(one), kind, reached: document.activeElement === one && one.tabIndex >= 0}};
  }});
  folds.forEach(fold => (fold.open = false));
  return found;
}}"""
PUT = """([html, path]) => {  // the page with this HTML in place of the one that stands here; whether it has the same style
  const there = new DOMParser().parseFromString(html, "text/html"), root = document.documentElement;
  const sheets = (one) => [...one.querySelectorAll("link[rel=stylesheet], style")].map((sheet) => sheet.outerHTML).join();
  if (sheets(there) !== sheets(document)) return false;
  history.replaceState(null, "", path);
  for (const name of root.getAttributeNames()) root.removeAttribute(name);
  for (const { name, value } of there.documentElement.attributes) root.setAttribute(name, value);
  document.title = there.title;
  document.body.replaceWith(document.adoptNode(there.body));
  return true;
}"""
FOLDED = "([name, value]) => Boolean(document.querySelector(`[name='${name}'][value='${value}']`)?.closest('details:not([open])'))"
BY_KEYS = 10_000 if ALL else 1  # times that a page of one kind is opened in the browser, and its form worked by keys
TARGET = 48  # CSS px; common practice for gloves, no source


def kind_of(path: str) -> str:
    """The address without what makes no other kind of page: hours, numbers, people who take the oath."""
    return re.sub(r"[0-9a-f]{32}|\d+|(?<=/oath/)\w+", "N", path)


class Keyboard(Window):
    """Stands where the rehearsal's window stands; `page` is a Playwright page. `low` and `wide` gather what is too small or wider than the screen."""

    def __init__(self, port: int, page):
        super().__init__(port, "localhost")
        self.page, self.root = page, f"http://localhost:{port}"
        self.low, self.wide, self.unseen, self.unreached, self.sent, self.keys = set(), set(), set(), set(), [], 0
        self.worked: set[str] = set()  # kinds of controls that were worked by keys
        self.times: Counter[str] = Counter()
        self.elsewhere: Page | None = None  # the page where the day is, when it does not stand in the browser

    def get(self, path: str) -> Page:
        """A page to look at; a paper is saved as a browser saves it, since it has no controls."""
        if path.endswith((".pdf", ".cose")):
            return super().get(path)
        often = self._often("GET", path)
        if ALL or not self.page.url.startswith(self.root):
            return self._opened(path)
        self.elsewhere = page = super().get(path)
        if not often:
            self._bring()
        return page

    def opened(self, path: str) -> Page:
        """This page, loaded anew: what is open in the browser may be another."""
        return self.get(path)

    def send(self, form: Form, values: Mapping[str, str | list[str]] = {}) -> Page:
        """Every value put in and the form sent, by keys only, on the page that is open."""
        form.filled(values)  # a name the form does not have is a mistake of the test
        often = self._often("POST", form.action)
        if not often:
            self._bring()
        if often or self._is_like_others(form.action):
            self.elsewhere = page = super().send(form, values)
            return page
        wanted = {name: value for name, value in values.items() if not self._stands(form, name, value)}
        self._to_the_top()
        for _ in range(1200):
            self.press("Tab")
            at = self.page.evaluate(LOOK)
            self._judge(at, form.action)
            if at["folded"] and at["action"] == form.action:
                self.press("Enter")
            elif at["action"] == form.action and at["name"] in wanted:
                self._put(at, wanted)
            elif at["writes"] and at["action"] == form.action and not wanted:
                return self._enter()
        raise Stuck(f"{form.action}: the Tab key never reaches {list(wanted) or 'the button that writes'}")

    def _often(self, method: str, path: str) -> bool:
        """Whether a page of this kind was worked by keys often enough: hours, people and numbers in its address make no other kind."""
        kind = f"{method} {kind_of(path)}"
        self.times[kind] += 1
        return self.times[kind] > BY_KEYS

    def _is_like_others(self, action: str) -> bool:
        """Whether each kind of control of this form was worked by keys before; each of its controls is judged under the focus all the same."""
        if ALL:
            return False
        self._to_the_top()
        self.press("Tab")  # what a script puts under the focus is shown as after a key
        controls = self.page.evaluate(LOOK_OVER, action)
        for at in controls:
            self._judge(at, action)
            if not at["reached"]:
                self.unreached.add(f"{action}: {at['html']}")
        kinds = {at["kind"] for at in controls}
        known = kinds <= self.worked
        self.worked |= kinds
        return known

    def _bring(self) -> None:
        """The page where the day is stands in the browser."""
        page, self.elsewhere = self.elsewhere, None
        if page is None:
            return
        if self.page.evaluate(PUT, [page.text, page.path]):
            self._measured(page.path)
        else:
            self._opened(page.path)

    def _opened(self, path: str) -> Page:
        self.elsewhere = None
        return self._gone(lambda: self.page.goto(self.root + path))

    def _gone(self, go: Callable) -> Page:
        """The page that this leads the browser to, with the cookies that the day has; it has those that the browser has afterwards."""
        had = {one["name"]: one["value"] for one in self.page.context.cookies()}
        new = [{"name": k, "value": v, "url": self.root} for k, v in self.cookies.items() if had.get(k) != v]
        if new:
            self.page.context.add_cookies(new)
        answer = go()
        self.cookies = {one["name"]: one["value"] for one in self.page.context.cookies()}
        path = self.page.url.removeprefix(self.root)
        self._measured(path)
        return Page(answer.status, path, self.page.content().encode(), {})

    def press(self, key: str) -> None:
        self.page.keyboard.press(key)
        self.keys += 1

    @staticmethod
    def _stands(form: Form, name: str, value: str | list[str]) -> bool:
        """Whether the form says so already. An empty list is what an unticked box says."""
        control = form.controls[name]
        said = "" if value == [] else value
        return (
            control.kind not in ("checkbox", "password")
            and said == control.value
            or control.kind == "checkbox"
            and said in ("", control.value)
            and len(control.options) == 1
            and not (said == "" and control.value)
        )

    def _to_the_top(self) -> None:
        self.page.evaluate("() => { document.activeElement?.blur(); getSelection().removeAllRanges(); scrollTo(0, 0) }")

    def _put(self, at: dict, wanted: dict) -> None:
        name, value = at["name"], wanted[at["name"]]
        if at["type"] == "radio":
            if self.page.evaluate(FOLDED, [name, value]):
                self._unfold(name)
            self._choose(name, value)
            del wanted[name]
        elif at["type"] == "checkbox":
            want = value if isinstance(value, list) else [value]
            if (at["value"] in want) != at["checked"]:
                self.press("Space")
            left = [one for one in want if one != at["value"]]
            wanted[name] = left
            if not left:
                del wanted[name]
        else:
            self.press("Control+A")
            self.page.keyboard.type(value) if value else self.press("Delete")
            del wanted[name]

    def _unfold(self, name: str) -> None:
        """Further choices lie in a fold behind the first ones: go on to it, open it, and come back."""
        self._until("Tab", lambda at: at["folded"])
        self.press("Enter")
        self._until("Shift+Tab", lambda at: at["name"] == name)

    def _until(self, key: str, there: Callable[[dict], bool]) -> None:
        for _ in range(60):
            self.press(key)
            if there(self.page.evaluate(LOOK)):
                return
        raise Stuck(f"{key} does not lead there")

    def _choose(self, name: str, value: str) -> None:
        """Within a group of choices the arrow keys go from one to the next; Space takes the first one."""
        for _ in range(60):
            at = self.page.evaluate(LOOK)
            if at["name"] == name and at["value"] == value:
                return None if at["checked"] else self.press("Space")
            self.press("ArrowDown")
        raise Stuck(f"the arrow keys never reach {value!r} of {name}")

    def _enter(self) -> Page:
        page = self._gone(self._entered)
        self.sent.append(page.path)
        return page

    def _entered(self):
        with self.page.expect_navigation() as going:
            self.press("Enter")
        return going.value

    def _judge(self, at: dict, action: str) -> None:
        """What a gloved hand could miss, and what the eye could not follow."""
        if at["tag"] == "BODY":
            return
        if not at["seen"]:
            self.unseen.add(f"{action}: {at['html']}")
        if at["high"] < TARGET and not at["link"] and not at["skip"]:
            self.low.add(f"{action}: {at['high']} px: {at['html']}")

    def _measured(self, path: str) -> None:
        """What is wider than the screen."""
        over = self.page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        if over > 0:
            who = self.page.evaluate(
                "[...document.querySelectorAll('main *, header *, nav *')].filter(one => one.getBoundingClientRect().right > innerWidth + 1).map(one => one.outerHTML.slice(0, 90))"
            )
            self.wide.add(f"{path}: {over} px: {who[:3]}")
