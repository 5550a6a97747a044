// A page half filled in: each change is put aside on the laptop as it is made; while the laptop does not answer, in this tablet's own store
// ("shell", under "draft " and the page's path). The last keys, until the laptop has them, lie in the window's own sessionStorage. A form with data-here is
// put aside on this tablet only. What is counted or keyed blind is put aside nowhere: the browser asks before it is left.
import { fresh, held } from "./outbox.js";
import { deed } from "./store.js";

const NEVER = ["csrf_token", "signer", "pin", "usual", "mark_number", "mark_words", "notes_to", "words_copied", "shown", "looked"];
const PAUSE = 250; // ms after the last key
const PATIENCE = 5_000; // ms: a laptop out of radio says nothing at all
const form = document.querySelector("form[data-draft]");
const says = document.querySelector("[data-aside]");
const shell = "shell" in document.body.dataset;
const here = shell || (form && "here" in form.dataset); // nothing goes to the laptop
const last = (name) => name.slice(name.lastIndexOf("/") + 1);
const again = /^#anew=/.test(location.hash) ? location.hash : ""; // a refused entry done again is put aside by itself
const path = form && form.dataset.draft + again;
const key = `draft ${path}`;
const load = crypto.randomUUID?.() ?? String(Math.random()).slice(2); // this opening of the page
let turn = 0; // of the posts of this opening: one that arrives late changes nothing
const typed = new Set(); // names of the inputs that somebody changed since the page was opened
let changed = false; // since it was last put aside
let sent = false; // it is on its way to be signed: nothing is put aside any more
let over = false; // it is held on this tablet
let timer;
let before = Promise.resolve();

const pairs = () => [...new FormData(form)].filter(([name, value]) => !NEVER.includes(last(name)) && typeof value === "string");
const whole = () => ({ path, pairs: pairs() });
// The ids of the entries that a page would make, the first of which is its draft's on the laptop.
const ids = (page) => page.pairs.filter(([name]) => last(name) === "entry_id").sort().map(([, id]) => id);
const token = () => form.elements.csrf_token?.value ?? "";
const address = () => `/draft?path=${encodeURIComponent(form.dataset.draft)}&load=${load}&turn=${(turn += 1)}`;
const body = () => new URLSearchParams([["csrf_token", token()], ...pairs()]);

// Forget what this tablet's own store and this window hold of a page.
export async function forget(path) {
  sessionStorage.removeItem(`draft ${path}`);
  await deed(["shell"], "readwrite", (store) => void store.delete(`draft ${path}`));
}

// The page on the screen is held on this tablet now: it is over, and the next one of its kind is another act with a number of its own.
export function isHeld() {
  sent = over = true;
  clearTimeout(timer);
  return form && forget(path).catch(() => null);
}

// It could not be sent: it is still on the screen, and put aside again.
export function goesOn() {
  if (!sent || over) return;
  sent = false;
  touched();
}

async function putAside() {
  if (!changed || sent) return;
  changed = false;
  const left = whole();
  try {
    if (here) throw new Error("not for the laptop");
    const answer = await fetch(address(), { method: "POST", body: body(), signal: AbortSignal.timeout(PATIENCE) });
    if (!answer.ok) throw new Error("the laptop did not take it");
    const said = await answer.json();
    if (says) says.textContent = said.says;
    if (!changed) sessionStorage.removeItem(key);
    await deed(["shell"], "readwrite", (store) => void store.delete(key)).catch(() => null);
  } catch {
    if (over) return;
    await deed(["shell"], "readwrite", (store) => void store.put(left, key)).then(
      () => says && (says.textContent = here && !shell ? "Put aside on this tablet, not signed." : "The laptop does not answer. Put aside on this tablet, not signed."),
      () => says && (says.textContent = "This could not be put aside: leave the page open."),
    );
  }
}

// What this tablet put aside while the laptop did not answer, filled in again; nothing where it is held or signed, or where the laptop has it.
async function fillAgain() {
  if (!shell && (await isOver(whole()))) return openBlank();
  const left = JSON.parse(sessionStorage.getItem(key) ?? "null") ?? (await deed(["shell"], "readonly", (store) => store.get(key)));
  if (!left) return;
  if ((await isOver(left)) || (await isSigned(left))) return forget(path);
  if (isAsChosen(left)) fill(left);
  else await handOver(left);
}

// Whether it says what the tile or link that led here has chosen; a page of another style is another act.
function isAsChosen(left) {
  const chosen = new URLSearchParams(location.search);
  return left.pairs.every(([name, value]) => (chosen.get(name) ?? value) === value);
}

// To the laptop with it, where the page lists it as begun.
async function handOver(left) {
  const body = new URLSearchParams([["csrf_token", token()], ...left.pairs]);
  const answer = await fetch(`/draft?path=${encodeURIComponent(form.dataset.draft)}`, { method: "POST", body, signal: AbortSignal.timeout(PATIENCE) });
  if (answer.ok && (await answer.json()).stored) await forget(path);
}

// Whether the entries of this page are held on this tablet: what is filled in under their ids again would be the same act.
const isOver = (page) => held().then((all) => all.some(({ id }) => ids(page).includes(id)), () => false);

// Whether the laptop has it signed: in the record, or waiting for another signature.
async function isSigned(page) {
  if (shell || !ids(page).length) return false;
  const asked = new URLSearchParams(ids(page).map((id) => ["id", id]));
  return fetch(`/draft/signed?${asked}`, { signal: AbortSignal.timeout(PATIENCE) }).then((answer) => answer.json()).then(({ signed }) => signed, () => false);
}

// Put aside while the laptop did not answer and signed since: out of its reach the next page of that kind opens blank.
async function forgetSigned() {
  const all = await deed(["shell"], "readonly", (store) => store.getAll(IDBKeyRange.bound("draft /", "draft 0")));
  for (const left of all.filter(({ path }) => path)) if (await isSigned(left)) await forget(left.path);
}

// The laptop still had it as begun, from before it was held.
async function openBlank() {
  sent = true;
  const answer = await fetch(`/draft/${ids(whole())[0]}/away`, { method: "POST", redirect: "manual", body: new URLSearchParams([["csrf_token", token()]]) });
  if (answer.type === "opaqueredirect") location.reload();
}

function fill(left) {
  for (const [name, value] of left.pairs) {
    if (typed.has(name)) continue; // somebody was quicker than this store: what is on the screen is newer
    for (const control of [form.elements[name]].flatMap((found) => (found instanceof RadioNodeList ? [...found] : (found ?? [])))) {
      if (control.type === "radio" || control.type === "checkbox") control.checked ||= control.value === value;
      else if (control.type !== "hidden" || last(name) === "entry_id" || last(name) === "salt") control.value = value;
    }
  }
  for (const fold of form.querySelectorAll("details")) fold.open ||= [...fold.querySelectorAll("input, textarea")].some((one) => ["text", "textarea"].includes(one.type) && one.value);
  form.closest("details")?.setAttribute("open", "");
  if (says) says.textContent = "Filled in as it was left here, not signed.";
  touched();
}

function touched() {
  changed = true;
  try {
    sessionStorage.setItem(key, JSON.stringify(whole()));
  } catch {
    // a window that stores nothing: the laptop has it a moment later
  }
  clearTimeout(timer);
  timer = setTimeout(() => (before = before.then(putAside)), here ? 0 : PAUSE);
}

// A form of the shell gets its number here, as one of the laptop's has it when it is opened.
export function number(form) {
  for (const field of form.querySelectorAll("[name=entry_id], [name=salt]")) field.value = fresh();
}

if (shell) document.querySelectorAll("form[data-holds]").forEach(number);
else forgetSigned().catch(() => null);
if (form) {
  for (const kind of ["input", "change"]) {
    form.addEventListener(kind, ({ target }) => {
      typed.add(target.name);
      touched();
    });
  }
  document.addEventListener("submit", (event) => {
    sent = event.target === form && !event.defaultPrevented;
    if (!sent) return;
    const time = event.submitter && new URL(event.submitter.formAction).searchParams.get("time"); // "Power lost now"
    if (time) form.elements.time.value ||= time;
    sessionStorage.removeItem(key);
    if (here && !shell) before = before.then(() => forget(path)).catch(() => null); // what is refused comes back filled in, and is put aside again
  }, true);
  // The page is left: what was typed in the last moment goes along.
  addEventListener("pagehide", () => {
    if (changed && !sent && !here) navigator.sendBeacon(address(), body());
  });
  document.addEventListener("visibilitychange", () => document.visibilityState === "hidden" && putAside());
  if (here && !shell && form.querySelector(".wrong")) touched(); // refused: what the page brought back is all there is
}
// Done when what was left of this page is filled in.
export const filled = form && !changed ? fillAgain().catch(() => null) : null;

// A page that is put away is gone here too.
document.addEventListener("submit", ({ target }) => {
  if (!target.dataset.forgetDraft) return;
  sessionStorage.removeItem(`draft ${target.dataset.forgetDraft}`);
  forget(target.dataset.forgetDraft).catch(() => null);
});

// Blind figures: stored nowhere, so leaving asks.
const blind = document.querySelector("form[data-blind]");
if (blind) {
  let typed = false;
  blind.addEventListener("input", () => (typed = true));
  blind.addEventListener("submit", () => (typed = false));
  addEventListener("beforeunload", (event) => typed && event.preventDefault());
}
