// The tablet's memory: the newest state of the record that it was shown, and its own kept entries, until hand-over.
//
// On load and every minute while somebody looks, it says to the laptop what it saw and how much it holds; the laptop says where its
// record stands. When both do not belong to one history, the alarm stands on every page of this tablet until people forget it by hand.
import { deed } from "./store.js";

const EVERY = 60_000;
const meta = document.querySelector("meta[name=tapeseal-saw]")?.content.split(" "); // before admission only the record, and whether it is practice
const whole = meta?.length === 5;
const shown = meta && { record: meta[0], practice: meta.at(-1) === "practice", ...(whole && { run: Number(meta[1]), number: Number(meta[2]), head: meta[3] }) };
let token = "";
let record = shown?.record;
let instead = false; // the laptop's record was opened instead of one of which nothing was left
let asking = false;
let touched = false;

const remembered = () => deed(["saw"], "readonly", (saw) => saw.get("newest"));
const alarm = () => deed(["saw"], "readonly", (saw) => saw.get("alarm"));
const newer = (one, other) => !other || one.run > other.run || (one.run === other.run && one.number > other.number);

// What is not in the record yet: held, or waiting for somebody to settle it.
async function holds() {
  const [held, settling] = [await deed(["outbox"], "readonly", (outbox) => outbox.count()), await deed(["settle"], "readonly", (settle) => settle.count())];
  return held + settling;
}

// What was shown is remembered if it is newer; read and written in one step, since other windows do the same.
function remember(state) {
  return deed(["saw"], "readwrite", (saw) => {
    saw.get("alarm").onsuccess = (found) => {
      if (found.target.result) return;
      saw.get("newest").onsuccess = (event) => {
        const old = event.target.result;
        if (!old || (old.record !== state.record && old.practice) || (old.record === state.record && newer(state, old))) saw.put(state, "newest");
      };
    };
  });
}

// --- contradiction

// Why an honest laptop could not say this to a tablet that saw that; "" when it could. The laptop itself looks deeper: it has the heads between.
export function contradicted(saw, now) {
  if (!saw || (saw.practice && saw.record !== now.record && !now.instead)) return "";
  if (saw.record !== now.record) return `This tablet remembers entry ${saw.number} of another record.`;
  if (now.run < saw.run) return `This tablet remembers run ${saw.run}; the laptop is in run ${now.run}: an older copy was put in its place.`;
  if (now.run > saw.run) return "";
  if (now.number < saw.number) return `This tablet remembers entry ${saw.number}; the laptop's record ends at entry ${now.number}: an older copy was put in its place.`;
  if (now.number === saw.number && now.head !== saw.head) return `This tablet remembers another entry ${saw.number} than the laptop has.`;
  return "";
}

async function raise(says, saw, now) {
  await deed(["saw"], "readwrite", (store) => store.put({ says, saw, now }, "alarm"));
  if (!location.pathname.startsWith("/alarm") && !touched) location.assign("/alarm");
  else await tell();
}

// The alarm on this page: on /alarm in full, elsewhere as a notice with the way there.
async function tell() {
  const found = await alarm();
  const part = document.querySelector("[data-remembers]");
  if (!found) return;
  if (part) {
    const words = (state) => `${state.head ? `run ${state.run}, entry ${state.number}, head ${state.head.slice(0, 8).toUpperCase()}, ` : ""}record ${state.record.slice(0, 8).toUpperCase()}`;
    document.querySelector("[data-heading-alarm]").textContent = "This tablet and the laptop tell different histories";
    part.querySelector("[data-says]").textContent = found.says;
    part.querySelector("[data-saw]").textContent = words(found.saw);
    part.querySelector("[data-shown]").textContent = words(found.now);
    part.hidden = false;
  } else if (!document.querySelector("[data-alarm]")) {
    const notice = document.createElement("section");
    notice.className = "notice loud";
    notice.dataset.alarm = "";
    notice.setAttribute("role", "alert");
    notice.innerHTML =
      '<svg class="mark" viewBox="0 0 24 24" aria-hidden="true"><use href="#i-look"/></svg><div><p><b>The laptop contradicts what this tablet remembers.</b> <a href="/alarm">What to do now</a></p></div>';
    document.querySelector("main")?.prepend(notice);
  }
}

// --- contact

async function ask(body) {
  const options = body ? { method: "POST", headers: { "Content-Type": "application/json", "X-CSRFToken": token }, body: JSON.stringify(body) } : {};
  const answer = await fetch("/contact", { ...options, redirect: "error", cache: "no-store" });
  if (!answer.ok) {
    token = "";
    throw new Error(`contact ${answer.status}`);
  }
  const said = await answer.json();
  token = said.token;
  record = said.record;
  instead = said.instead;
  return said;
}

const state = (said) => ({ record: said.record, run: said.run, number: said.number, head: said.head, practice: said.practice, instead: said.instead });

// One contact; the answer, or null where the laptop is out of reach or this browser is not admitted.
export async function contact() {
  if (asking) return null;
  asking = true;
  try {
    const saw = await remembered();
    if (!token) await ask();
    const other = saw?.practice && saw.record !== record && !instead; // another rehearsal: nothing to hold against this one
    const said = await ask({ saw: saw && !other ? [saw.record, saw.run, saw.number, saw.head] : null, held: await holds(), clock: Date.now() });
    const says = said.contradicts || contradicted(saw, state(said));
    if (says) {
      if (!(await alarm())) await raise(says, saw, state(said));
      await offerToGiveBack(said, saw);
    } else if (said.handed_over) await forget();
    else if (said.lost && !(await giveBack(said))) return null; // what the spare laptop lacks goes first; the memory stays as it is till then
    else {
      await remember(state(said));
      await keepMine(said);
    }
    dispatchEvent(new CustomEvent("contact", { detail: said }));
    return said;
  } catch {
    return null; // out of reach: the pages that hold entries say so themselves
  } finally {
    asking = false;
  }
}

// This tablet's own kept entries, as the bytes that are hashed. What is blind or folded away comes when the laptop shows it.
async function keepMine(said) {
  const had = (await deed(["mine"], "readonly", (store) => store.get("upto"))) ?? { record: "", seq: 0, number: 0, next: 0, waits: false };
  const same = had.record === said.record;
  if (same && had.seq === said.last_seq && !(had.waits && had.number !== said.number)) return;
  const answer = await fetch(`/contact/mine?after=${same ? had.next : 0}`, { redirect: "error", cache: "no-store" });
  if (!answer.ok) return;
  const mine = await answer.json();
  await deed(["mine"], "readwrite", (store) => {
    if (!same) store.clear();
    for (const one of mine.entries) store.put(one, one.number);
    store.put({ record: said.record, seq: mine.more ? -1 : said.last_seq, number: said.number, next: mine.next, waits: mine.waits, tablet: mine.tablet }, "upto");
  });
}

// A spare laptop went on without the last entries: it gets those that this tablet has, byte for byte. Whether it took the list.
async function giveBack(said) {
  const all = await deed(["mine"], "readonly", (store) => store.getAll());
  const upto = await deed(["mine"], "readonly", (store) => store.get("upto"));
  const saw = await remembered();
  const entries = upto?.record === saw.record ? all.filter((one) => one.entry && one.number >= said.lost[0]) : [];
  const body = JSON.stringify({ tablet: upto?.tablet ?? "", seen: saw.number, run: saw.run, record: saw.record, entries });
  const answer = await fetch("/contact/back", { method: "POST", headers: { "Content-Type": "application/json", "X-CSRFToken": token }, body, redirect: "error", cache: "no-store" });
  if (!answer.ok) return false;
  await remember(state(said));
  return true;
}

// Two officials signed that a new record stands for the one that this tablet remembers: whoever holds the tablet reads that and gives back.
async function offerToGiveBack(said, saw) {
  const part = document.querySelector("[data-new-record]");
  if (!part || said.replaces !== saw.record) return;
  part.hidden = false;
  part.querySelector("[data-give-back]").onclick = async () => {
    if (!(await giveBack({ ...said, lost: [1, saw.number] }))) return;
    await deed(["saw"], "readwrite", (store) => {
      store.delete("alarm");
      store.put(state(said), "newest");
    });
    location.assign("/");
  };
}

// After hand-over nothing stays but what this tablet still holds.
async function forget() {
  await deed(["saw", "mine"], "readwrite", (saw, own) => {
    saw.clear();
    own.clear();
  });
}

document.querySelector("[data-forget]")?.addEventListener("click", async () => {
  await forget();
  location.assign("/");
});
addEventListener("input", () => (touched = true));
document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && contact());
setInterval(() => document.visibilityState === "visible" && contact(), EVERY);

async function begin() {
  await tell();
  const saw = await remembered();
  if (shown && saw && saw.record !== shown.record && !saw.practice && !(await alarm())) await raise(contradicted(saw, shown), saw, shown);
  else if (whole && !saw) await remember(shown); // else the laptop is asked about the old state first: what a page shows must not cover it up
  if (whole || document.body.dataset.shell !== undefined) await contact();
}
if (globalThis.indexedDB) begin().catch(() => {}); // a browser that stores nothing remembers nothing: its level says so
