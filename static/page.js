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

const PATIENCE = 30_000; // ms: drawing a packet, check words and many pictures take seconds

// The first seal of the office's list that is neither applied nor written on this page.
function nextSeal(form) {
  const written = [...form.querySelectorAll("input.write")].map((field) => field.value.trim());
  return (form.dataset.spares ?? "").split(" ").find((number) => number && !written.includes(number)) ?? "";
}

function written(field, text) {
  field.value = text;
  field.dispatchEvent(new Event("input", { bubbles: true }));
}

// A reading is figures from the first line on: its page opens in the first of them.
if (!document.querySelector("[data-focus]")) document.querySelector("form[data-begin] input.write")?.focus();

// The key beside a count writes the 0 that somebody counted; beside a time, the time now; beside a new seal, the next of the list.
for (const key of document.querySelectorAll("[data-key]")) {
  const seal = key.dataset.key === "next";
  key.hidden = seal && !key.closest("form")?.dataset.spares;
  key.addEventListener("click", () => {
    const field = key.parentElement.querySelector("input");
    written(field, seal ? nextSeal(field.form) : key.dataset.key === "0" ? "0" : (document.querySelector("time[data-now]")?.textContent ?? ""));
  });
}

// A key that says what it writes: a figure the record has, or the one typed elsewhere on this page.
for (const key of document.querySelectorAll("[data-write], [data-like]")) {
  const field = key.closest(".field").querySelector("input");
  const like = key.dataset.like ? field.form?.elements[key.dataset.like] : null;
  key.hidden = Boolean(key.dataset.like) && !like;
  key.addEventListener("click", () => written(field, like ? like.value : key.dataset.write));
}

// One key for the fields of a group that are still empty: 0 in each, or the next seals in order.
for (const key of document.querySelectorAll("form [data-rest], form [data-next]")) {
  const form = key.closest("form");
  key.hidden = Boolean(key.dataset.next) && !form.dataset.spares;
  key.addEventListener("click", () => {
    for (const field of form.querySelectorAll(`input.write[name^="${CSS.escape(key.dataset.rest ?? key.dataset.next)}."]`)) {
      if (!field.value.trim()) written(field, key.dataset.next ? nextSeal(form) : "0");
    }
  });
}

// Answers that go together are chosen with one tap, and stand below.
for (const taps of document.querySelectorAll("[data-taps]")) {
  taps.hidden = false;
  for (const button of taps.querySelectorAll("[data-choose]")) {
    button.addEventListener("click", () => {
      for (const [name, value] of button.dataset.choose.split(" ").map((pair) => pair.split("="))) {
        const choice = button.form.querySelector(`[name="${CSS.escape(button.dataset.before + name)}"][value="${CSS.escape(value)}"]`);
        choice.checked = true;
        choice.dispatchEvent(new Event("input", { bubbles: true }));
      }
    });
  }
}

// One tap ticks all of a group: whoever taps it says so of each, and may take one back.
for (const all of document.querySelectorAll("[data-all], [data-ticks]")) {
  const boxes = all.dataset.all ? `[type=checkbox][name^="${CSS.escape(all.dataset.all)}."]` : all.dataset.ticks.trim().split(" ").map((name) => `[type=checkbox][name="${CSS.escape(name)}"]`).join();
  all.hidden = false;
  all.addEventListener("click", () => {
    for (const box of all.closest("form").querySelectorAll(boxes)) {
      box.checked = true;
      box.dispatchEvent(new Event("input", { bubbles: true }));
    }
  });
}

// One tap says that as many prints as there are receivers came out whole; a torn one is chosen by hand.
for (const key of document.querySelectorAll("[data-whole]")) {
  key.hidden = false;
  key.addEventListener("click", () => {
    for (let n = 1; n <= Number(key.dataset.count); n += 1) {
      const whole = key.closest("form").querySelector(`[name="${CSS.escape(`${key.dataset.whole}.${n}`)}"][value="whole"]`);
      whole.checked = true;
      whole.dispatchEvent(new Event("input", { bubbles: true }));
    }
  });
}

// Whoever taps a name types a PIN next, whoever ticks the oath the code of the slip, whoever chose a container its seal. A keyboard's own moves are left alone.
let touched = -Infinity;
document.addEventListener("pointerdown", (event) => (touched = event.timeStamp));
document.addEventListener("change", ({ target, timeStamp }) => {
  if (!(target instanceof HTMLInputElement) || timeStamp - touched > 1000) return;
  const next = target.type === "radio" && target.name.endsWith("signer") ? target.name.replace(/signer$/, "pin") : target.name === "oath" ? "code" : target.closest("[data-leads]")?.dataset.leads ?? "";
  if (next) target.form?.querySelector(`input[name="${CSS.escape(next)}"]`)?.focus();
});

// The code of a slip is 9 symbols, the last of which checks the others: once it is whole, the PIN comes next, at a touch screen.
const SYMBOLS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
let finger = false;
document.addEventListener("pointerdown", ({ pointerType }) => (finger = pointerType === "touch"));
document.addEventListener("input", ({ target }) => {
  if (!finger || target.name !== "code" || !target.form?.elements.pin_again) return;
  const symbols = [...target.value.toUpperCase().replace(/[IL]/g, "1").replace(/O/g, "0").replace(/[^0-9A-Z]/g, "")].map((one) => SYMBOLS.indexOf(one));
  const sum = symbols.slice(0, 8).reduce((all, one, at) => all + (at + 1) * one, 0);
  if (symbols.length === 9 && !symbols.includes(-1) && sum % 31 === symbols[8]) target.form.elements.pin.focus();
});

// What is written under "Something is missing or wrong" is an exception: its box shows it at once.
document.addEventListener("input", ({ target }) => {
  const box = target instanceof HTMLTextAreaElement && target.closest("[data-exception]")?.querySelector("[type=checkbox]");
  if (box && target.value.trim()) box.checked = true;
});

// A form is sent once; the button says so.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.dataset.sent) {
    event.preventDefault();
    event.stopImmediatePropagation();
    return;
  }
  const mark = (form.dataset.sent = String(event.timeStamp));
  const again = () => form.dataset.sent === mark && delete form.dataset.sent;
  setTimeout(again, PATIENCE);
  if (event.submitter) setTimeout(works, 500, form, event.submitter, mark);
}, true); // before whoever sends a form by script

// What takes longer than half a second says so where it was pressed, until the answer comes or the form may be sent again.
function works(form, button, mark) {
  if (form.dataset.sent !== mark || button.hasAttribute("aria-disabled")) return;
  const words = [...button.childNodes];
  button.replaceChildren("Working. Leave this page open.");
  button.setAttribute("aria-disabled", "true");
  const watch = setInterval(() => {
    if (form.dataset.sent) return;
    clearInterval(watch);
    button.replaceChildren(...words);
    button.removeAttribute("aria-disabled");
  }, 200);
}

// On paper everything that is folded stands open.
addEventListener("beforeprint", () => document.querySelectorAll("details:not([open])").forEach((fold) => (fold.open = fold.dataset.printed = true)));
addEventListener("afterprint", () =>
  document.querySelectorAll("details[data-printed]").forEach((fold) => {
    fold.open = false;
    delete fold.dataset.printed;
  }),
);

// Blind figures do not wait in the browser for somebody who presses Back.
addEventListener("pagehide", () => document.querySelectorAll("form[data-blind]").forEach((form) => form.reset()));
addEventListener("pageshow", (event) => {
  if (event.persisted) location.reload();
});
