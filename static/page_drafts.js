// A page half filled in: each change is put aside on the laptop as it is made; while the laptop does not answer, in this tablet's own store
// ("shell", under "draft " and the page's path). The last keys, until the laptop has them, lie in the window's own sessionStorage. A form with data-here is
// put aside on this tablet only. What is counted or keyed blind is put aside nowhere: the browser asks before it is left.
import { held } from "./outbox.js";
import { deed } from "./store.js";

const NEVER = ["csrf_token", "signer", "pin", "usual", "mark_number", "mark_words", "notes_to", "words_copied", "shown"];
const PAUSE = 250; // ms after the last key
const form = document.querySelector("form[data-draft]");
const says = document.querySelector("[data-aside]");
const shell = "shell" in document.body.dataset;
const here = shell || (form && "here" in form.dataset); // nothing goes to the laptop
const last = (name) => name.slice(name.lastIndexOf("/") + 1);
const key = form && `draft ${form.dataset.draft}`;
const load = crypto.randomUUID?.() ?? String(Math.random()).slice(2); // this opening of the page
let turn = 0; // of the posts of this opening: one that arrives late changes nothing
const typed = new Set(); // names of the inputs that somebody changed since the page was opened
let changed = false; // since it was last put aside
let sent = false; // it is on its way to be signed: nothing is put aside any more
let timer;
let before = Promise.resolve();

const pairs = () => [...new FormData(form)].filter(([name, value]) => !NEVER.includes(last(name)) && typeof value === "string");
const first = ([one], [other]) => (one < other ? -1 : 1);
const own = () => pairs().filter(([name]) => last(name) === "entry_id").sort(first)[0]?.[1] ?? ""; // under which the laptop has it: the first by name
const whole = () => ({ pairs: pairs(), id: own() });
const token = () => form.elements.csrf_token?.value ?? "";
const address = () => `/draft?path=${encodeURIComponent(form.dataset.draft)}&load=${load}&turn=${(turn += 1)}`;
const body = () => new URLSearchParams([["csrf_token", token()], ...pairs()]);

// Forget what this tablet's own store and this window hold of a page.
export async function forget(path) {
  sessionStorage.removeItem(`draft ${path}`);
  await deed(["shell"], "readwrite", (store) => void store.delete(`draft ${path}`));
}

// The page on the screen is held on this tablet now: it is over, and the next one of its kind is another act with a number of its own.
export async function isHeld(path) {
  sent = true;
  clearTimeout(timer);
  await before.catch(() => null); // what was on its way to be put aside
  await forget(path).catch(() => null);
}

async function putAside() {
  if (!changed || sent) return;
  changed = false;
  const left = whole();
  try {
    if (here) throw new Error("not for the laptop");
    const answer = await fetch(address(), { method: "POST", body: body() });
    if (!answer.ok) throw new Error("the laptop did not take it");
    const said = await answer.json();
    if (says) says.textContent = said.says;
    if (!changed) sessionStorage.removeItem(key);
    await deed(["shell"], "readwrite", (store) => void store.delete(key)).catch(() => null);
  } catch {
    await deed(["shell"], "readwrite", (store) => void store.put(left, key)).then(
      () => says && (says.textContent = here && !shell ? "Put aside on this tablet, not signed." : "The laptop does not answer. Put aside on this tablet, not signed."),
      () => says && (says.textContent = "This could not be put aside: leave the page open."),
    );
  }
}

// What this tablet put aside while the laptop did not answer, filled in again; nothing where it is held or in the record, or where the laptop has it.
async function fillAgain() {
  if (!shell && (await isOver(own()))) return openBlank();
  const left = JSON.parse(sessionStorage.getItem(key) ?? "null") ?? (await deed(["shell"], "readonly", (store) => store.get(key)));
  if (!left) return;
  if (left.id && ((await isOver(left.id)) || (await inRecord(left.id)))) return forget(form.dataset.draft);
  fill(left);
}

// Whether the entry of this id is held on this tablet: what is filled in under it again would be the same act.
const isOver = async (id) => id && (await held()).some((one) => one.id === id);

const inRecord = (id) => !shell && fetch(`/draft/known/${id}`).then((answer) => answer.json()).then(({ kept }) => kept, () => false);

// The laptop still had it as begun, from before it was held.
async function openBlank() {
  sent = true;
  const answer = await fetch(`/draft/${own()}/away`, { method: "POST", redirect: "manual", body: new URLSearchParams([["csrf_token", token()]]) });
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
    sessionStorage.removeItem(key);
    if (here && !shell) before = before.then(() => forget(form.dataset.draft)).catch(() => null); // what is refused comes back filled in, and is put aside again
  }, true);
  // The page is left: what was typed in the last moment goes along.
  addEventListener("pagehide", () => {
    if (changed && !sent && !here) navigator.sendBeacon(address(), body());
  });
  document.addEventListener("visibilitychange", () => document.visibilityState === "hidden" && putAside());
  navigator.serviceWorker?.addEventListener("message", ({ data }) => {
    if (data.unsent) {
      sent = false; // it could not be sent: it is still on the screen, and put aside again
      touched();
    }
  });
  if (here && !shell && form.querySelector(".wrong")) touched(); // refused: what the page brought back is all there is
  else fillAgain().catch(() => null);
}

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
