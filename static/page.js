// Small comforts for every page; each works on without them.

// A refusal takes the focus, so that a voice reads it and a keyboard is there.
document.querySelector("[data-focus]")?.focus();

// Enter in a row of figures goes on to the next one, as on a calculator; in the last one it sends.
document.addEventListener("keydown", (event) => {
  const field = event.target;
  if (event.key !== "Enter" || !(field instanceof HTMLInputElement) || !field.classList.contains("write")) return;
  const fields = [...field.form.querySelectorAll("input.write")].filter((one) => one.offsetParent);
  const next = fields[fields.indexOf(field) + 1];
  if (next) {
    event.preventDefault();
    next.focus();
    next.select();
  }
});

// A form is sent once; the button says so.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.dataset.sent) {
    event.preventDefault();
    return;
  }
  form.dataset.sent = "yes";
  setTimeout(() => delete form.dataset.sent, 4000);
});

// Blind figures do not wait in the browser for somebody who presses Back.
addEventListener("pagehide", () => document.querySelectorAll("form[data-blind]").forEach((form) => form.reset()));
addEventListener("pageshow", (event) => {
  if (event.persisted) location.reload();
});
