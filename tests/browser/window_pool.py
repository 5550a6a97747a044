"""Browser windows that are used again by the next test: a new one costs a second of a core, another page in it a fifth.

Each server of a test has a port of its own, so its origin is new to the browser; cookies, storage, workers and routes are emptied all the same.
"""

from dataclasses import dataclass
from urllib.parse import urlsplit

SIZES = {"tablet upright": (820, 1180), "tablet lying": (1180, 820), "phone": (390, 844)}
PATIENCE = 60_000  # ms that a page waits for anything


@dataclass
class Window:
    """A context with its one page. how: what the context was made with."""

    context: object
    page: object
    how: dict

    def emptied(self) -> bool:
        """Whether it is as new: at an empty page, without cookies, storage and routes. False where its page was closed or others were opened."""
        if self.page.is_closed() or len(self.context.pages) != 1:
            return False
        origins = {"{0.scheme}://{0.netloc}".format(urlsplit(url)) for url in self.page.asked if url.startswith("http")}
        self.page.unroute_all(behavior="ignoreErrors")
        self.context.unroute_all(behavior="ignoreErrors")
        self.context.set_offline(False)
        self.page.goto("about:blank")
        self.context.clear_cookies()
        asking = self.context.new_cdp_session(self.page)
        for origin in origins:
            asking.send("Storage.clearDataForOrigin", {"origin": origin, "storageTypes": "all"})
        asking.detach()
        self.page.emulate_media(
            media="null",
            color_scheme=self.how.get("color_scheme", "null"),
            reduced_motion=self.how.get("reduced_motion", "null"),
        )
        return True


class WindowPool:
    """Windows of one browser that nobody uses now, by what they were made with."""

    def __init__(self, browser):
        self.browser, self.free = browser, {}

    def take(self, size: tuple[int, int], how: dict, fresh: bool = False) -> Window:
        """A window of this size (CSS px); fresh: one that nobody had before."""
        width, height = size
        waiting = [] if fresh else self.free.get(repr(sorted(how.items())), [])
        one = waiting.pop() if waiting else self._made(how)
        one.page.set_viewport_size({"width": width, "height": height})
        one.page.set_default_timeout(PATIENCE)
        one.page.asked = []
        return one

    def give_back(self, one: Window, fresh: bool = False) -> None:
        """Kept for the next test if it can be emptied, else closed."""
        try:
            again = not fresh and one.emptied()
        except Exception:  # noqa: BLE001 - whatever ails it, it is not used again
            again = False
        if again:
            self.free.setdefault(repr(sorted(one.how.items())), []).append(one)
        else:
            one.context.close()

    def _made(self, how: dict) -> Window:
        context = self.browser.new_context(**how)
        page = context.new_page()
        page.on("request", lambda request: page.asked.append(request.url))
        return Window(context, page, how)
