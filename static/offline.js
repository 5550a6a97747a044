// Every page of a polling place on a tablet: the worker is there, the head says what is held, and a form that could not be sent is held
// where that may be; else it stays on the screen with all that was typed.
import { deed } from "./store.js";
import { filled, goesOn, isHeld, number } from "./page_drafts.js";
import { entries, held, hold, holding, known, learn, missing, quarter, settling } from "./outbox.js";

const here = document.body.dataset;
const kept = "shell" in here; // a page out of the tablet's own shell
const HOUR = 3_600_000;
let sent = null; // the form on its way, and what it said

const ordinal = (n) => `${n}${["th", "st", "nd", "rd"][n % 100 > 10 && n % 100 < 14 ? 0 : n % 10] ?? "th"}`;

// --- what is said on the page

// A notice where the page begins, one of each name: [sentence, where its link leads]. It takes the focus when somebody must act.
function notice(name, lines, urgent = false) {
  document.querySelector(`[data-notice="${name}"]`)?.remove();
  const part = Object.assign(document.createElement("section"), { className: "notice whole", tabIndex: -1, role: urgent ? "alert" : "status" });
  part.dataset.notice = name;
  const list = part.appendChild(document.createElement("div")).appendChild(document.createElement("ul"));
  for (const [words, href] of lines) {
    const line = list.appendChild(document.createElement("li"));
    (href ? line.appendChild(Object.assign(document.createElement("a"), { href })) : line).textContent = words;
  }
  document.querySelector("main .put").prepend(part);
  if (urgent) part.focus();
}

export async function head() {
  const count = (await held()).length + (await settling()).length;
  const newest = await deed(["saw"], "readonly", (saw) => saw.get("newest"));
  const state = document.querySelector("[data-held]");
  const number = document.querySelector("[data-kept]").dataset.kept || newest?.number;
  state.hidden = !count;
  state.querySelector("a").textContent = `${count} held here${number ? `, kept to ${number}` : ""}`;
  document.querySelector("[data-kept]").hidden = count > 0;
  return count;
}

async function sayWhoHolds() {
  const part = document.querySelector("[data-holds-as]");
  const { name } = holding(await known());
  if (part) part.textContent = name ? `Held as filled in by \u2068${name}\u2069, who holds this tablet.` : "Nobody holds this tablet now: it belongs to the official who signs it when the laptop answers.";
}

// --- forms

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.method !== "post" || event.defaultPrevented) return;
  sent = { form, data: new FormData(form, event.submitter), to: new URL(event.submitter?.getAttribute("formaction") ?? form.action, location).pathname };
  if (!kept) return;
  event.preventDefault();
  notSent();
});
navigator.serviceWorker?.addEventListener("message", ({ data }) => {
  if (sent && data.unsent === sent.to) notSent();
});

async function notSent() {
  const { form, data, to } = sent;
  sent = null;
  const signed = to === new URL(form.action).pathname; // else it was only to be put aside
  if (signed && (await isNowHeld(form, data))) return location.assign("/held"); // pressed once more while that page comes, it is not held once more
  delete form.dataset.sent; // it may be sent again at once
  goesOn();
}

// Hold what this form says where that may be. True where its page is over; else the page goes on, and says why.
async function isNowHeld(form, data) {
  for (const pin of form.querySelectorAll("[type=password]")) pin.value = "";
  if (!form.dataset.holds) {
    return void notice("unsent", [[`The laptop does not answer, and this needs the laptop. ${form.dataset.needs ?? ""}`], ["What you typed is still here. Send it again when the laptop answers; a step that was recorded after all is not recorded twice."]], true);
  }
  const holds = JSON.parse(form.dataset.holds);
  const asked = missing(holds, data);
  if (asked.length) return void notice("unsent", [["Nothing is held yet. Fill in what is missing:"], ...asked.map(([name, says]) => [says, `#${idOf(form, name)}`])], true);
  try {
    if (!(await hold(entries(holds, data, new URL(form.action).pathname)))) return void notice("unsent", [["This page is held on this tablet already, with other figures. What you typed now is not held: look at the list, then open the page again.", "/held"]], true);
    await isHeld();
  } catch {
    return void notice("unsent", [["This tablet's store takes nothing more. Write it on the paper log, and keep it on the laptop."]], true);
  }
  navigator.storage?.persist?.();
  if (holds[0].coarse !== HOUR) return true;
  await tapped(form);
}

const idOf = (form, name) => (form.elements[name]?.closest?.("fieldset") ?? form.elements[name]?.[0]?.closest("fieldset") ?? form.elements[name])?.id ?? "page";

// The hour's sheet stays open for the next tap.
async function tapped(form) {
  form.reset();
  number(form);
  document.querySelector("[data-tapped]").textContent = `Held on this tablet, ${ordinal((await held()).length)}. It is counted when the laptop answers.`;
  await head();
}

// A form opened to do a refused entry again shows what that one said, under its number: however often it is opened, it is the same act.
async function anew() {
  const id = /^#anew=([0-9a-f]{32})$/.exec(location.hash)?.[1];
  const form = document.querySelector("form[data-holds]");
  const old = id && form && (await settling()).find((one) => one.id === id);
  if (!old) return;
  const { prefix } = JSON.parse(form.dataset.holds).find(({ kind, at }) => kind === old.kind && at === old.at) ?? {};
  if (prefix === undefined) return;
  await filled;
  notice("anew", [["Filled in as it was held. Correct it, then keep it here."], [`The record said: ${old.says}`]]);
  if (form.elements[`${prefix}entry_id`].value === id) return; // corrected in part already
  for (const [name, value] of Object.entries({ ...old.form, entry_id: id, salt: old.salt })) {
    for (const control of [form.elements[prefix + name]].flatMap((found) => (found instanceof RadioNodeList ? [...found] : (found ?? [])))) {
      if (control.type === "radio" || control.type === "checkbox") control.checked = control.value === value;
      else if (control.type !== "hidden" || name === "entry_id" || name === "salt") control.value = value;
    }
  }
}

// --- the laptop and the worker

addEventListener("contact", async ({ detail }) => {
  await learn({ last_seq: detail.last_seq, offset: Date.now() - detail.now });
  if (kept) notice("answers", [["The laptop answers again. What you hold here can be kept: open the list.", "/held"]]);
  else if ((await head()) && location.pathname !== "/held") notice("answers", [["Entries are held on this tablet. The laptop answers: look at them and keep them.", "/held"]]);
});

async function register() {
  const worker = navigator.serviceWorker;
  if (!worker || !isSecureContext || kept) return;
  const registration = await worker.register("/worker.js", { updateViaCache: "none" });
  registration.active?.postMessage("fill");
  for (const line of document.querySelectorAll("[data-alone]")) line.hidden = !worker.controller;
  const waits = () => registration.waiting && worker.controller && notice("version", [["A newer version is ready: close this page and open it again."]]);
  waits();
  registration.addEventListener("updatefound", () => registration.installing?.addEventListener("statechange", waits));
}

document.querySelector("[data-try]")?.addEventListener("click", async () => {
  const said = document.querySelector("[data-tried]");
  said.textContent = "Asking the laptop …";
  const answers = await fetch("/contact", { cache: "no-store", redirect: "error" }).then((answer) => answer.ok, () => false);
  if (answers) location.reload();
  else said.textContent = "No answer. Go on as before; what is held stays here.";
});

const wanted = document.querySelector("[data-wanted]");
if (wanted && /^\/(step|note|sign|tape|people|packet|balance|record)\//.test(location.pathname)) wanted.textContent = "The page you opened needs the laptop.";

async function begin() {
  try {
    if ("tablet" in here) await learn({ tablet: here.tablet, holder: here.holder || null, name: here.name || null, used: quarter() });
    await head();
    await sayWhoHolds();
    await anew();
  } finally {
    await register(); // also where the store takes nothing just now: the shell is asked for all the same
  }
}
begin().catch(() => {
  // a browser that stores nothing, or takes no worker here, holds nothing: what the page says of holding is taken back
  for (const line of document.querySelectorAll("[data-alone]")) line.hidden = true;
});
