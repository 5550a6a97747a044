// Lists of the office that look again by themselves: the whole page is asked for every few seconds and put in the place of the one that is shown.
//
// Only pages without a form of their own load this, so nothing that was typed can be lost. Scroll, open folds and the focused link stay. When the
// office's computer does not answer, the page says since when it may be old.
const EVERY = 6_000; // ms; every page is new within 10 seconds
const main = document.querySelector("main");
let heard = new Date();

const summaries = (root) => [...root.querySelectorAll("details")].map((fold) => [fold.querySelector("summary")?.textContent ?? "", fold]);

function tell(words) {
  const line = main.querySelector("[data-refreshed]");
  if (line) line.textContent = words;
}

function put(fresh) {
  const open = new Map(summaries(main).map(([words, fold]) => [words, fold.open]));
  const focused = document.activeElement?.getAttribute?.("href");
  for (const [words, fold] of summaries(fresh)) if (open.has(words)) fold.open = open.get(words);
  main.replaceChildren(...fresh.childNodes);
  if (focused && document.activeElement === document.body) main.querySelector(`a[href="${CSS.escape(focused)}"]`)?.focus({ preventScroll: true });
}

async function look() {
  if (document.visibilityState !== "visible") return;
  try {
    const answer = await fetch(location.href, { cache: "no-store", headers: { Accept: "text/html" }, signal: AbortSignal.timeout(EVERY) });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const fresh = page.querySelector("main");
    if (!answer.ok || !fresh || fresh.querySelector("form")) throw new Error("another page");
    document.title = page.title;
    heard = new Date();
    put(fresh);
  } catch {
    tell(`The office's computer does not answer. These figures are of ${heard.toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" })}, or older.`);
  }
}
setInterval(look, EVERY);
