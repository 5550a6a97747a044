// What this tablet holds, as codes on its screen: for when the laptop stays out of reach. The text of a code is described in webapp/pages/tablets/README.md.
//
// Codes change every second; Stop and Next are always there, and with reduced motion they wait for Next. The laptop wants all of them.
import { held } from "./outbox.js";
import { modules, picture } from "./qr.js";
import { deed } from "./store.js";

const ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:";
const LOAD = 384;
const EVERY = 1_000;
const utf8 = new TextEncoder();

// --- bytes

function head(major, value) {
  if (value < 24) return [(major << 5) | value];
  const size = value < 0x100 ? 1 : value < 0x10000 ? 2 : value < 0x100000000 ? 4 : 8;
  const bytes = Array.from({ length: size }, (_, i) => Math.floor(value / 256 ** (size - 1 - i)) % 256);
  return [(major << 5) | (24 + Math.log2(size)), ...bytes];
}

// Keys stand in the order of their encoded bytes.
function order(a, b) {
  const at = a.findIndex((one, i) => one !== b[i]);
  return at < 0 ? 0 : a[at] - b[at];
}

// Deterministic CBOR (RFC 8949, 4.2.1) of null, whole numbers from 0, texts, bytes, arrays, and maps of texts.
export function cbor(value) {
  if (value === null) return [0xf6];
  if (typeof value === "number") return head(0, value);
  if (typeof value === "string") {
    const bytes = utf8.encode(value);
    return [...head(3, bytes.length), ...bytes];
  }
  if (value instanceof Uint8Array) return [...head(2, value.length), ...value];
  if (Array.isArray(value)) return [...head(4, value.length), ...value.flatMap(cbor)];
  const pairs = Object.entries(value).map(([name, one]) => [cbor(name), cbor(one)]);
  return [...head(5, pairs.length), ...pairs.sort(([a], [b]) => order(a, b)).flat(2)];
}

// RFC 9285.
export function base45(bytes) {
  let text = "";
  for (let at = 0; at < bytes.length; at += 2) {
    const pair = at + 1 < bytes.length;
    let value = pair ? 256 * bytes[at] + bytes[at + 1] : bytes[at];
    for (let i = pair ? 3 : 2; i > 0; i--, value = Math.floor(value / 45)) text += ALPHABET[value % 45];
  }
  return text;
}

// The sum of ISO 3309, as in PNG and zip.
export function crc32(bytes) {
  let sum = 0xffffffff;
  for (const byte of bytes) {
    sum ^= byte;
    for (let i = 0; i < 8; i++) sum = (sum >>> 1) ^ (sum & 1 ? 0xedb88320 : 0);
  }
  return ~sum >>> 0;
}

const four = (value) => [value >>> 24, (value >>> 16) & 255, (value >>> 8) & 255, value & 255];
const hex = (text) => Uint8Array.from(text.match(/../g) ?? [], (pair) => parseInt(pair, 16));

// The texts of all codes of these entries.
export function texts(record, tablet, clock, entries) {
  const rows = entries.map((one) => [one.seq, hex(one.id), hex(one.salt), one.kind, one.at, one.form, one.made, one.holder ?? null]);
  const whole = cbor([1, hex(record), tablet, clock, rows]);
  const count = Math.ceil(whole.length / LOAD);
  if (count > 255) throw new RangeError("more than the codes of one set carry");
  return Array.from({ length: count }, (_, index) => {
    const body = [1, index, count, ...four(crc32(whole)), ...whole.slice(index * LOAD, (index + 1) * LOAD)];
    return `TH1:${base45([...body, ...four(crc32(body))])}`;
  });
}

// --- on the page

const part = document.querySelector("[data-held-codes]");
const find = (name) => part.querySelector(`[data-${name}]`);
let [codes, at, timer] = [[], 0, null];

async function draw() {
  const entries = await held();
  const [seen, known] = [await deed(["saw"], "readonly", (saw) => saw.get("newest")), await deed(["shell"], "readonly", (shell) => shell.get("tablet"))];
  const record = entries.find((one) => one.saw)?.saw[0] ?? seen?.record;
  if (!entries.length || !record || !known?.tablet) return say("Nothing is held on this tablet.");
  codes = texts(record, known.tablet, Date.now(), entries);
  say(`${entries.length === 1 ? "1 entry" : `${entries.length} entries`} of tablet ${known.tablet}. The laptop reads ${codes.length === 1 ? "this code" : "all of these codes"}: Menu, Tablets, Read held entries as codes. They stay held here until the laptop itself has answered.`);
  find("show").hidden = false;
  find("begin").hidden = true;
  turn(0);
  find("show").scrollIntoView({ block: "center" });
  if (codes.length > 1 && !matchMedia("(prefers-reduced-motion: reduce)").matches) run();
  else halt();
}

function say(sentence) {
  find("said").textContent = sentence;
}

function turn(to) {
  at = to % codes.length;
  const least = codes.length > 1 ? 15 : 1; // one size for all of them
  find("code").replaceChildren(picture(modules(codes[at], "M", least), `Code ${at + 1} of ${codes.length}`));
  find("number").textContent = String(at + 1);
  find("count").textContent = String(codes.length);
}

function run() {
  timer = setInterval(() => turn(at + 1), EVERY);
  find("stop").textContent = "Stop here";
}

function halt() {
  clearInterval(timer);
  timer = null;
  find("stop").textContent = "Go on by itself";
}

if (part) {
  part.hidden = false;
  find("begin").addEventListener("click", () => draw().catch(() => say("These entries do not fit codes. Bring the tablet into the laptop's reach.")));
  find("stop").addEventListener("click", () => (timer ? halt() : run()));
  find("next").addEventListener("click", () => {
    halt();
    turn(at + 1);
  });
}
