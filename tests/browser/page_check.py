"""One look at a page in a real browser: its headings, ids, references and names of controls, its width, and what axe finds.

Daily axe looks at a page that shows something no page before it showed in this run: an element of another kind, with other classes, roles or
attributes, or, of those that belong into one parent, inside another; it looks at those elements and at what is in them. A page made of what was looked at
already is measured on the narrowest screen only, others on one of the wider ones, too. With `--all` axe looks at the whole of every page in every size, by day and by night.

Opening a page costs more than all that is asked of it. So daily `looked_at` opens the first page of all, those on which a script of their own draws, and
those of OPENED; of the others it asks for the HTML and puts it into an empty page with the same style sheet, where `page.js` shows what it shows on every page.
"""

import os
import tempfile
import zlib
from pathlib import Path
from urllib.parse import urlsplit

from axe_playwright_python.base import AxeResults
from axe_playwright_python.sync_playwright import Axe

import webapp
from tests.browser.window_pool import SIZES
from tests.matrix import ALL

AXE = Axe()
LIGHTS = ("light", "dark")
EVERY_RULE: dict = {"resultTypes": ["violations"], "preload": False}  # style sheets are the page's own: none to load
DAILY = (("phone", "light"), ("tablet upright", "dark"))
NARROWEST = "phone"
WIDE = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
KINDS = """() => {  // every element under its kind: tag, classes, names of its attributes; of those that belong into one parent that one too
  const BELONGS = 'li, dt, dd, tr, th, td, caption, option, legend, summary, h1, h2, h3, h4, nav, main, header, footer';
  const SAID = /^(data-|id$|class$|style$|name$|value$|href$|for$|d$|x|y|width$|height$|points$|checked$)/;
  const UNREAD = /^(accept|action|autocapitalize|enctype|form|inputmode|maxlength|method|novalidate|rows|spellcheck|viewbox)$/i; // by no rule of axe
  const kind = one => [one.tagName, ...[...one.classList].sort(), ...[...one.attributes].map(({ name, value }) =>
    ['role', 'type', 'scope'].includes(name) ? `${name}=${value}` : SAID.test(name) || UNREAD.test(name) ? '' : name).filter(Boolean).sort()].join('.');
  return [...document.querySelectorAll('body *')].filter(one => !one.parentElement.closest('svg'))
    .map(one => [one, (one.matches(BELONGS) ? one.parentElement.tagName + '>' : '') + kind(one)]);
}"""
FACTS = f"""() => {{
  const all = (found) => [...document.querySelectorAll(found)];
  const ids = all('[id]').map(one => one.id);
  const refers = all('[aria-describedby], [aria-labelledby], label[for]').flatMap(one =>
    ['aria-describedby', 'aria-labelledby', 'for'].map(name => one.getAttribute(name)).filter(Boolean).join(' ').split(' '));
  const named = one => one.labels?.length || one.closest('label') || ['aria-label', 'aria-labelledby', 'title'].some(name => one.getAttribute(name)) || one.textContent.trim()
    || one.querySelector('svg[aria-label], svg[aria-labelledby], img[alt]:not([alt=""]), title');
  const levels = all('h1, h2, h3, h4, h5, h6').filter(one => one.checkVisibility()).map(one => Number(one.tagName[1]));
  return {{
    untitled: !document.title.trim() || !document.documentElement.lang,
    'not one main part': all('main').length !== 1,
    'ids that stand twice': ids.filter((id, at) => ids.indexOf(id) !== at),
    'referred to and not there': refers.filter(id => !document.getElementById(id)),
    'controls without a name': all('a[href], button, input:not([type=hidden]), select, textarea, summary')
      .filter(one => one.checkVisibility() && !named(one)).map(one => one.outerHTML.slice(0, 90)),
    'headings that leave a level out': levels.filter((level, at) => at && level > levels[at - 1] + 1),
    kinds: [...new Set(({KINDS})().map(([, kind]) => kind))],
  }};
}}"""
LOOK = f"""([rules, kinds]) => {{
  const of = kinds && new Set(kinds);
  return axe.run(of ? ({KINDS})().filter(([, kind]) => of.has(kind)).map(([one]) => one) : document, rules).then(({{ violations }}) => ({{ violations }}));
}}"""

PAGE_JS = (Path(webapp.__file__).parents[1] / "static" / "page.js").read_text(encoding="utf-8")
EVERYWHERE = ["page.js", "desk_reach.js", "tablet_memory.js", "offline.js", "page_drafts.js", "live.js"]  # of base.html
OPENED = (
    "/tablet",
    "/held/codes",
    "/note/bin-emptied/B1",
)  # where scripts of every page show or hide a part of this one
LATER = ["refresh.js"]  # asks for the page again after seconds
PUT = f"""async ([address, scripts]) => {{  // the page at this address in place of the one that stands here; opens: only a browser that opens it can tell how it looks
  const answer = await fetch(address, {{ headers: {{ Accept: 'text/html' }} }});
  const there = new DOMParser().parseFromString(await answer.text(), 'text/html'), root = document.documentElement;
  const sheets = one => [...one.querySelectorAll('link[rel=stylesheet], style')].map(sheet => sheet.outerHTML).join();
  const draws = [...there.scripts].some(one => !scripts.includes(one.getAttribute('src')?.split('/').pop().split('?')[0]));
  const other = sheets(there) !== sheets(document) || there.compatMode !== document.compatMode;
  if (draws || other || there.body.hasAttribute('data-shell')) return {{ opens: true }};
  const loads = [...there.querySelectorAll('[src], [poster], link')].map(one => new URL(one.getAttribute('src') ?? one.getAttribute('poster') ?? one.getAttribute('href'), answer.url));
  const elsewhere = loads.filter(({{ protocol, origin }}) => !['data:', 'blob:'].includes(protocol) && origin !== location.origin).map(String);
  there.querySelectorAll('noscript').forEach(one => one.remove());
  history.replaceState(null, '', answer.url);
  for (const name of root.getAttributeNames()) root.removeAttribute(name);
  for (const {{ name, value }} of there.documentElement.attributes) root.setAttribute(name, value);
  document.title = there.title;
  document.body.replaceWith(document.adoptNode(there.body));
  await Promise.all([...document.images].map(one => one.decode().catch(() => 0)));
  {{ {PAGE_JS} }}
  return {{ status: answer.status, elsewhere }};
}}"""

RUN = os.environ.get("PYTEST_XDIST_TESTRUNUID")  # of all processes of a run
SEEN_BY_ALL = Path(tempfile.gettempdir()) / f"tapeseal-kinds-{RUN}" if RUN else None
seen: set[str] = (
    set()
)  # kinds of elements that axe has looked at in this process, and as far as it knows in the run's others
alike: list[tuple[str, str]] = []  # of the first page that was opened: its style sheets, and what it lets a page load


def looked_at(page, address: str) -> int:
    """The status of the answer at this address, after the page there was checked; the window shows it afterwards."""
    status = shown(page, address)
    checked(page, urlsplit(address)._replace(scheme="", netloc="").geturl())
    return status


def shown(page, address: str) -> int:
    """The status of the answer; the page stands in the window: opened there, or daily, where that is the same, put into an empty page of this server."""
    origin = "{0.scheme}://{0.netloc}".format(urlsplit(address))
    if ALL or not alike or urlsplit(address).path in OPENED:
        answer = opened_there(page, address)
        links = page.eval_on_selector_all("link[rel=stylesheet]", "all => all.map(one => one.outerHTML).join('')")
        alike[:] = [(links, answer.headers.get("content-security-policy", ""))]
        return answer.status
    if not page.evaluate("origin => Boolean(window.empty) && location.origin === origin", origin):
        to_an_empty_page(page, origin)
    put = page.evaluate(PUT, [address, [*EVERYWHERE, *LATER]])
    if put.get("opens"):
        return opened_there(page, address).status
    assert put["elsewhere"] == [], f"{address} loads from elsewhere: {put['elsewhere']}"
    return put["status"]


def opened_there(page, address: str):
    """The answer at this address, opened by the browser; none of its scripts may break off."""
    broken: list[str] = []
    page.on("pageerror", noted := lambda error: broken.append(str(error)))
    answer = page.goto(address)
    page.remove_listener("pageerror", noted)
    assert broken == [], f"{address}: a script breaks off: {broken}"
    return answer


def to_an_empty_page(page, origin: str) -> None:
    links, policy = alike[0]
    html = f"<!doctype html><html><head>{links}</head><body></body></html>"
    answer = {"content_type": "text/html; charset=utf-8", "headers": {"content-security-policy": policy}, "body": html}
    page.route(f"{origin}/empty", lambda asked: asked.fulfill(**answer))
    page.goto(f"{origin}/empty")
    page.unroute(f"{origin}/empty")
    page.evaluate("window.empty = true")


def where_looked(path: str, new: bool) -> tuple[tuple[str, str], ...]:
    """The sizes and lights in which axe looks at this page: with `--all` each; else one, by its address, if it shows anything new, so that half of all
    pages are looked at by night.

    Structure depends on neither; the contrast of every pair of colors of both lights is worked out in `test_everyone.py`.
    """
    if ALL:
        return tuple((size, light) for size in SIZES for light in LIGHTS)
    return (DAILY[zlib.crc32(path.encode()) % 2],) if new else ()


def checked(page, path: str) -> None:
    """One page: title, one main part, headings in order, unique ids, references that resolve, controls with names, no violation by axe, nothing wider
    than the screen."""
    facts = page.evaluate(FACTS)
    kinds = facts.pop("kinds")
    assert not any(facts.values()), f"{path}: {facts}"
    new = None if ALL else not_seen(kinds)
    looks = where_looked(path, new != [])
    for size in sizes_measured(looks):
        sized(page, size)
        wide = page.evaluate(WIDE)
        assert wide <= 0, f"{path} is {wide} px wider than the {size}"
        for light in (light for at, light in looks if at == size):
            page.emulate_media(color_scheme=light)
            found = looked_over(page, new)
            assert found.violations_count == 0, f"{path}, {size}, {light}: {found.generate_report()}"


def sizes_measured(looks: tuple[tuple[str, str], ...]) -> tuple[str, ...]:
    """The sizes in which a page with these looks is measured: all with `--all`; daily the narrowest and, of a page that is looked at, one of the wider ones."""
    if ALL:
        return tuple(SIZES)
    wider = ("tablet upright" if looks == DAILY[1:] else "tablet lying",) if looks else ()
    return (*wider, NARROWEST)


def not_seen(kinds: list[str]) -> list[str] | None:
    """Of these kinds those that no page of this run showed, which are seen from now on; None: this is the first page of all."""
    if SEEN_BY_ALL and SEEN_BY_ALL.exists():
        whole_lines = SEEN_BY_ALL.read_text(encoding="utf-8").rpartition("\n")[0]
        seen.update(filter(None, whole_lines.split("\n")))
    first, new = not seen, [kind for kind in kinds if kind not in seen]
    seen.update(new)
    if SEEN_BY_ALL and new:
        with SEEN_BY_ALL.open("a", encoding="utf-8") as file:
            file.write("".join(f"{kind}\n" for kind in new))
    return None if first else new


def sized(page, size: str) -> None:
    """The window in this size, changed only where it has another."""
    width, height = SIZES[size]
    if page.viewport_size != {"width": width, "height": height}:
        page.set_viewport_size({"width": width, "height": height})


def looked_over(page, kinds: list[str] | None) -> AxeResults:
    """What axe finds on this page, in elements of these kinds, or anywhere (None). Its script is half a megabyte: only a page that is looked at
    is given it."""
    if not page.evaluate("!!window.axe"):
        page.evaluate(AXE.axe_script + "; 0")
    return AxeResults(page.evaluate(LOOK, [EVERY_RULE, kinds]))
