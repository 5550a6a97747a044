// The codes of a packet or of a bundle, one after the other, half a second each. Stop and Next are always there; with reduced motion they wait for Next.
const show = document.querySelector("[data-codes]");
const count = Number(show.dataset.codes);
const frame = show.querySelector("[data-code]");
const number = show.querySelector("[data-number]");
const stop = show.querySelector("[data-stop]");
const next = show.querySelector("[data-next]");
const pictures = new Map();
let at = Number(number.textContent);
let timer = null;

async function picture(n) {
  if (!pictures.has(n)) {
    const answer = await fetch(`${show.dataset.at || "/packet/code/"}${n}.svg`);
    if (!answer.ok) throw new Error(`code ${n} did not come`);
    pictures.set(n, await answer.text());
  }
  return pictures.get(n);
}

async function turn(to) {
  try {
    frame.innerHTML = await picture(to);
    at = to;
    number.textContent = String(to);
  } catch {
    halt();
    number.textContent = `${at}: the laptop does not answer, try Next again`;
  }
}

function halt() {
  clearInterval(timer);
  timer = null;
  stop.textContent = "Go on by itself";
}

function run() {
  timer = setInterval(() => turn((at % count) + 1), 500);
  stop.textContent = "Stop here";
}

stop.hidden = false;
stop.addEventListener("click", () => (timer ? halt() : run()));
next.addEventListener("click", (event) => {
  event.preventDefault();
  halt();
  turn((at % count) + 1);
});
if (matchMedia("(prefers-reduced-motion: reduce)").matches) halt();
else run();
