"""One look at a page in a real browser: title, unique ids, references that resolve, names of controls, width, and what axe finds.

Daily axe looks at a page that shows something no page before it showed in this process: an element of another kind, with other classes, roles or
attributes, or, of those that belong into one parent, inside another. A page made of what was looked at already is measured on the narrowest screen only. With `--all` axe looks
at every page in every size, by day and by night.
"""

import zlib

from axe_playwright_python.base import AxeResults
from axe_playwright_python.sync_playwright import Axe

from tests.browser.window_pool import SIZES
from tests.matrix import ALL

AXE = Axe()
LIGHTS = ("light", "dark")
EVERY_RULE: dict = {"resultTypes": ["violations"], "preload": False}  # style sheets are the page's own: none to load
DAILY = (("phone", "light"), ("tablet upright", "dark"))
NARROWEST = "phone"
WIDE = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
FACTS = """() => {
  const all = (found) => [...document.querySelectorAll(found)];
  const BELONGS = 'li, dt, dd, tr, th, td, caption, option, legend, summary, h1, h2, h3, h4, nav, main, header, footer';
  const ids = all('[id]').map(one => one.id);
  const refers = all('[aria-describedby], [aria-labelledby], label[for]').flatMap(one =>
    ['aria-describedby', 'aria-labelledby', 'for'].map(name => one.getAttribute(name)).filter(Boolean).join(' ').split(' '));
  const named = one => one.labels?.length || one.closest('label') || ['aria-label', 'aria-labelledby', 'title'].some(name => one.getAttribute(name)) || one.textContent.trim()
    || one.querySelector('svg[aria-label], svg[aria-labelledby], img[alt]:not([alt=""]), title');
  const kind = one => [one.tagName, ...[...one.classList].sort(), ...[...one.attributes].map(({ name, value }) =>
    ['role', 'type', 'scope'].includes(name) ? `${name}=${value}` : /^(data-|id$|class$|style$|name$|value$|href$|for$|d$|x|y|width$|height$|points$|checked$)/.test(name) ? '' : name).filter(Boolean).sort()].join('.');
  return {
    title: document.title.trim(), language: document.documentElement.lang,
    twice: ids.filter((id, at) => ids.indexOf(id) !== at),
    lost: refers.filter(id => !document.getElementById(id)),
    nameless: all('a[href], button, input:not([type=hidden]), select, textarea, summary').filter(one => one.checkVisibility() && !named(one)).map(one => one.outerHTML.slice(0, 90)),
    kinds: [...new Set(all('body *').filter(one => !one.parentElement.closest('svg')).map(one => (one.matches(BELONGS) ? one.parentElement.tagName + '>' : '') + kind(one)))],
  };
}"""

seen: set[str] = set()  # kinds of elements that axe has looked at in this process


def where_looked(path: str, new: bool) -> tuple[tuple[str, str], ...]:
    """The sizes and lights in which axe looks at this page: with `--all` each; else one, by its address, if it shows anything new, so that half of all
    pages are looked at by night.

    Structure depends on neither; the contrast of every pair of colors of both lights is worked out in `test_everyone.py`.
    """
    if ALL:
        return tuple((size, light) for size in SIZES for light in LIGHTS)
    return (DAILY[zlib.crc32(path.encode()) % 2],) if new else ()


def checked(page, path: str) -> None:
    """One page: title, unique ids, references that resolve, controls with names, no violation by axe, nothing wider than the screen."""
    facts = page.evaluate(FACTS)
    assert facts["title"] and facts["language"], path
    assert facts["twice"] == [], f"{path}: ids stand twice: {facts['twice']}"
    assert facts["lost"] == [], f"{path}: referred to and not there: {facts['lost']}"
    assert facts["nameless"] == [], f"{path}: controls without a name: {facts['nameless']}"
    new = not seen.issuperset(facts["kinds"])
    seen.update(facts["kinds"])
    looks = where_looked(path, new)
    for size in SIZES if looks else (NARROWEST,):
        sized(page, size)
        wide = page.evaluate(WIDE)
        assert wide <= 0, f"{path} is {wide} px wider than the {size}"
        for light in (light for at, light in looks if at == size):
            page.emulate_media(color_scheme=light)
            found = looked_over(page, EVERY_RULE)
            assert found.violations_count == 0, f"{path}, {size}, {light}: {found.generate_report()}"


def sized(page, size: str) -> None:
    """The window in this size, changed only where it has another."""
    width, height = SIZES[size]
    if page.viewport_size != {"width": width, "height": height}:
        page.set_viewport_size({"width": width, "height": height})


def looked_over(page, rules: dict) -> AxeResults:
    """What axe finds on this page; its script is half a megabyte and is given to each page once."""
    if not page.evaluate("!!window.axe"):
        page.evaluate(AXE.axe_script + "; 0")
    return AxeResults(page.evaluate("rules => axe.run(rules).then(({violations}) => ({violations}))", rules))
