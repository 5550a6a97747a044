// A form of the desk is sent only while the office's computer answers: a browser that goes to its own page of errors loses what was typed.
//
// Before it is sent the computer is asked; when it does not answer, the page says so, and everything that was typed stays on it.
const SAYS = "The office's computer does not answer. Nothing was sent, and what you typed stays on this page. Try again when it answers.";
const PATIENCE = 5_000; // ms

async function answers() {
  const asked = { method: "HEAD", cache: "no-store", signal: AbortSignal.timeout(PATIENCE) };
  return fetch(import.meta.url, asked).then(() => true, () => false);
}

function tell(form) {
  const old = form.querySelector("[data-reach]");
  const line = old ?? document.createElement("p");
  line.dataset.reach = "";
  line.className = "wrong";
  line.setAttribute("role", "alert");
  line.textContent = SAYS;
  if (!old) form.prepend(line);
  line.scrollIntoView({ block: "center" });
}

document.addEventListener("submit", async (event) => {
  const form = event.target;
  if (form.method !== "post" || form.getAttribute("autocomplete") !== "off" || form.dataset.reached) return; // only what is typed and signed
  event.preventDefault();
  event.stopImmediatePropagation();
  if (form.dataset.asking) return;
  form.dataset.asking = "yes";
  const there = await answers();
  delete form.dataset.asking;
  if (!there) return tell(form);
  form.querySelector("[data-reach]")?.remove();
  form.dataset.reached = "yes";
  form.requestSubmit(event.submitter ?? undefined);
  delete form.dataset.reached;
}, true); // before whoever marks a form as sent
