// Open pages move: the clock in the head goes on, minutes count, and what is due or waits for a signature appears by itself.
//
// Every few seconds, while somebody looks, the page asks the laptop. A page that only shows (data-moves) loads itself again when something
// changed; a page with a form never does: it gets a strip with the way there. Nothing that was typed is touched.
const EVERY = 4_000; // ms
const SILENT = 20_000; // ms without an answer until the page says that it may be old
const body = document.body.dataset;
const main = document.querySelector("main");
const place = document.querySelector("[data-strips]");
const head = document.querySelector("time[data-now]");
const kept = document.querySelector("[data-kept]")?.dataset.kept;
const form = document.querySelector("main form[method=post]");
let leaving = false; // somebody pressed a link: this page must not load itself again over it
addEventListener("beforeunload", () => {
  leaving = true;
  setTimeout(() => (leaving = false), 5_000); // it did not go anywhere after all
});
const signing = /^\/sign\/([0-9a-f]+)$/.exec(location.pathname)?.[1];
const moves = "moves" in main.dataset && !form;
let shown = main.dataset.moves || "";
let last = null; // the newest answer, and when it came by this tablet's clock
let heard = Date.now();
let asking = false;
let waited = false; // whether what this page signs was seen waiting

const now = () => last.now + (last.runs ? Date.now() - last.came : 0);

// --- clock and minutes

const twelve = body.hours === "12";
const wall = new Intl.DateTimeFormat(twelve ? "en-US" : "en-GB", { timeZone: body.zone, hour: twelve ? "numeric" : "2-digit", minute: "2-digit", ...(twelve ? { hour12: true } : { hourCycle: "h23" }) });
const day = new Intl.DateTimeFormat("en-GB", { timeZone: body.zone, hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
const clock = (ms) => wall.format(ms).replace(/\s/g, " ").replace(/[AP]M$/, (half) => half.toLowerCase());

function minutes(count) {
  const parts = [[Math.floor(count / 60), "hour"], [count % 60, "minute"]].filter(([n]) => n).map(([n, unit]) => `${n} ${unit}${n === 1 ? "" : "s"}`);
  return parts.join(" ") || "less than a minute";
}

function put(part, words) {
  if (part && part.textContent !== words) part.textContent = words;
}

function tick() {
  if (!last) return;
  put(head, clock(now()));
  head?.setAttribute("datetime", day.format(now()));
  for (const part of document.querySelectorAll("[data-to]")) put(part, minutes(Math.max(0, Math.ceil((Number(part.dataset.to) - now()) / 60_000))));
  for (const part of document.querySelectorAll("[data-since]")) put(part, minutes(Math.max(0, Math.floor((now() - Number(part.dataset.since)) / 60_000))));
}

// --- strips

function strip({ id, says, href, do: words }) {
  const line = document.createElement("p");
  line.dataset.strip = id;
  line.append(Object.assign(document.createElement("span"), { textContent: says }));
  if (href) line.append(Object.assign(document.createElement("a"), { href, textContent: words }));
  return line;
}

// The same strips are left alone, so that a voice reads each once and a finger finds it where it was.
function show(strips) {
  const found = strips.map((one) => `${one.id} ${one.says}`).join("\n");
  if (!place || place.dataset.shown === found) return;
  place.dataset.shown = found;
  place.replaceChildren(...strips.map(strip));
}

const elsewhere = ({ href }) => href !== location.pathname && !location.pathname.startsWith(`${href}/`);

function strips() {
  const found = moves ? [] : last.strips.filter(elsewhere);
  if (signing && waited && !last.waiting.includes(signing)) found.unshift({ id: "gone", says: "Nothing waits here any more: it was signed, taken back, or it lapsed.", href: "/now", do: "Go to Now" });
  return found.slice(0, 3);
}

// --- a soft sound

// Two soft notes when something new is due, wrong or waits for a signature, once for each; where this tablet allows a sound and nobody switched it off.
const HEARD = "heard";
const quiet = () => localStorage.getItem("quiet") === "yes";

function chime() {
  const sound = new AudioContext();
  if (sound.state !== "running") return sound.close(); // nobody has touched this page yet: the tablet allows none
  [[660, 0], [880, 0.18]].forEach(([pitch, after]) => {
    const [note, loud, at] = [sound.createOscillator(), sound.createGain(), sound.currentTime + after];
    note.frequency.value = pitch;
    loud.gain.setValueAtTime(0.06, at);
    loud.gain.exponentialRampToValueAtTime(0.001, at + 0.3);
    note.connect(loud).connect(sound.destination);
    note.start(at);
    note.stop(at + 0.3);
  });
  setTimeout(() => sound.close(), 1_000);
}

function hear(found) {
  try {
    const ids = found.map(({ id }) => id);
    const known = JSON.parse(sessionStorage.getItem(HEARD) ?? "null");
    sessionStorage.setItem(HEARD, JSON.stringify(ids));
    if (known && !quiet() && ids.some((id) => !known.includes(id))) chime();
  } catch {
    // no store or no sound on this tablet: the strip says it
  }
}

const sounds = document.querySelector("[data-sound]");
if (sounds) {
  const say = () => (sounds.textContent = quiet() ? "Sound is off: switch it on" : "Sound is on: switch it off");
  sounds.hidden = false;
  sounds.addEventListener("click", () => {
    localStorage.setItem("quiet", quiet() ? "no" : "yes");
    if (!quiet()) chime();
    say();
  });
  say();
}

// --- the laptop

function changed() {
  const old = shown;
  shown = last.state;
  return old ? old !== shown : String(last.length) !== kept;
}

async function ask() {
  if (asking || document.visibilityState !== "visible") return;
  asking = true;
  try {
    const answer = await fetch("/live", { cache: "no-store", redirect: "error" });
    if (!answer.ok) throw new Error(`live ${answer.status}`);
    last = { ...(await answer.json()), came: Date.now() };
    heard = Date.now();
    waited ||= last.waiting.includes(signing);
    hear(last.strips);
    const other = changed();
    tick();
    if (moves && other && !leaving && !document.querySelector("details[open]")) return location.replace(location.pathname);
    show(moves && other ? [{ id: "new", says: "Something changed since this page was opened.", href: location.pathname, do: "Load it again" }] : strips());
    if (moves && other) shown = "?"; // it stays so until the page is loaded again
  } catch {
    if (Date.now() - heard > SILENT) show([{ id: "silent", says: `The laptop has not answered since ${last ? clock(last.now) : "this page was opened"}. This page may be out of date.`, href: "", do: "" }]);
  } finally {
    asking = false;
  }
}

document.addEventListener("visibilitychange", ask);
setInterval(ask, EVERY);
setInterval(tick, 1_000);
ask();
