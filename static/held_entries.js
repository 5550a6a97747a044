// The list of what this tablet holds: shown in the record's words once the laptop answers, kept by its holder with one PIN, in order.
import { head } from "./offline.js";
import { held, known, setApart, settling, take } from "./outbox.js";
import { line, list, part, send, tell, typed } from "./list_rows.js";
import { asked, showSettling } from "./refused_entries.js";

const kept = "shell" in document.body.dataset; // no field for a PIN on this page: the laptop's own is opened when it answers
let looked = null; // what the laptop said of these entries when it was last asked

const count = (n) => (n === 1 ? "1 entry" : `${n} entries`);
const ordinal = (n) => `${n}${["th", "st", "nd", "rd"][n % 100 > 10 && n % 100 < 14 ? 0 : n % 10] ?? "th"}`;
const { zone, hours } = document.body.dataset;
const day = (ms) => new Date(ms).toLocaleDateString("en", { weekday: "short", timeZone: zone });
const clock = (ms) => new Date(ms).toLocaleTimeString("en", { hour: hours === "12" ? "numeric" : "2-digit", minute: "2-digit", hourCycle: `h${hours === "12" ? 12 : 23}`, timeZone: zone }).toLowerCase();
// By the laptop's clock, as last measured: `offset` is the tablet's less the laptop's. Past midnight the evening before is named.
function time({ made, coarse }, offset) {
  const begins = coarse > 1 ? made : made - offset;
  const earlier = day(begins) === day(Date.now() - offset) ? "" : `${day(begins)} `;
  return earlier + clock(begins) + (coarse > 1 ? ` to ${clock(begins + coarse)}` : "");
}

// Entries are kept in order, so those of the first one's holder come first, as far as they stand together.
const first = (entries) => entries.slice(0, (entries.findIndex(({ holder }) => holder && holder !== entries.find((one) => one.holder)?.holder) + 1 || entries.length + 1) - 1);

async function show() {
  const entries = await held();
  const { offset = 0 } = (await known()) ?? {};
  const refused = (await settling()).length;
  part("heading").textContent = entries.length
    ? `${count(entries.length)} ${entries.length === 1 ? "is" : "are"} held on this tablet, not yet in the record`
    : refused ? `${count(refused)} ${refused === 1 ? "waits" : "wait"} here to be settled` : "Nothing is held on this tablet";
  list("list", entries.map((one, i) => {
    const { words, time: when, says } = looked?.entries[one.id] ?? {};
    const by = [one.name ?? "belongs to the official who signs it", says && `The record will refuse it: ${says}`].filter(Boolean).join(". ");
    return line("row", { time: when ?? time(one, offset), words: words ?? `${one.title}: ${typed(one)}`, by, stamp: `held, ${ordinal(i + 1)}` }, { apart: () => apart(one, words ?? `${one.title}: ${typed(one)}`) });
  }));
  const mine = first(entries);
  const who = mine.find(({ holder }) => holder);
  if (!kept) {
    part("keep").hidden = !looked || !mine.length;
    part("mine").textContent = who ? `\u2068${who.name}\u2069 keeps ${count(mine.length)}` : `Who filled this in keeps ${count(mine.length)}`;
    for (const choice of part("keep").querySelectorAll("[name=signer]")) choice.closest("label").hidden = Boolean(who) && choice.value !== who.holder;
  }
  await head();
}

async function apart(one, words) {
  await setApart(one.id, "Taken out of the list by hand before it was signed.", words);
  await showSettling();
  await show();
}

// Ask the laptop what these entries come to; nothing is kept by asking. What it has already, because an answer was lost, leaves the list.
async function look() {
  part("reach").textContent = "Asking the laptop …";
  const answer = await send("/held/look", { entries: await held(), ask: await asked() });
  if (kept && answer) return location.reload();
  looked = answer?.ok ? answer : null;
  if (!answer) part("reach").textContent = `The laptop did not answer at ${clock(Date.now())}. Go on as before. These entries are kept once, in this order, when it answers.`;
  else if (!answer.ok) tell(Object.values(answer.mistakes).join(" "));
  else {
    part("reach").textContent = "The laptop answers. This list is as the record has it.";
    part("clock").textContent = answer.clock;
    part("clock").hidden = !answer.clock;
    await settleAnswer(Object.fromEntries(Object.entries(answer.entries).filter(([, { number, says }]) => number !== null && !says)), answer.last_seq);
  }
  await showSettling(looked?.known);
  await show();
}

// What became of entries, told on the page and taken out of the store.
async function settleAnswer(results, last_seq) {
  const before = await held();
  await take(results, last_seq);
  const done = before.filter(({ id }) => results[id] && !results[id].says);
  part("done").append(...done.map(({ id }) => line("kept-row", { words: results[id].words, by: results[id].number ? `kept as entry ${results[id].number}` : "counted on the hour's sheet" })));
}

part("keep")?.querySelector("form").addEventListener("submit", async (event) => {
  event.preventDefault();
  const form = event.target;
  const said = new FormData(form);
  const answer = await send("/held/keep", { entries: first(await held()), signer: said.get("signer") ?? "", pin: said.get("pin") });
  delete form.dataset.sent;
  form.elements.pin.value = "";
  if (!answer) return tell("The laptop does not answer. What it kept is not kept twice: try it again, the list says what is there.");
  if (!answer.ok) return tell(Object.values(answer.mistakes).join(" "));
  const refused = Object.values(answer.results).filter(({ says }) => says).length;
  tell(answer.stopped ? `${answer.stopped} What is still in the list stays held.` : refused ? `The record refused ${count(refused)}: settle ${refused === 1 ? "it" : "them"} in the list below.` : "");
  form.reset();
  await settleAnswer(answer.results, answer.last_seq);
  await look();
});

async function able() {
  const registration = await navigator.serviceWorker?.getRegistration();
  const persisted = await navigator.storage?.persisted?.();
  part("store").textContent = persisted ? "kept until it is cleared by hand" : "the browser may clear it when the disk is nearly full";
  if (!registration?.active) return (part("worker").textContent = "none: out of reach of the laptop nothing can be held here (online only)");
  const { port1, port2 } = new MessageChannel();
  port1.onmessage = ({ data }) => (part("worker").textContent = `${data.whole ? "all" : "not all yet: open a page within reach"}, version ${data.version}`);
  registration.active.postMessage("version", [port2]);
}

part("try-now").addEventListener("click", look);
addEventListener("settled", () => look());
await show();
await showSettling();
await look();
await able();
