// Lines of a list, made from the templates that the page carries, and what is sent to the laptop as JSON.
export const part = (name) => document.querySelector(`[data-${name}]`);

// One line: `words` by the name of their place, `does` what its buttons do, `leads` where its links lead. What is not given is taken out.
export function line(template, words, does = {}, leads = {}) {
  const made = part(template).content.cloneNode(true).firstElementChild;
  for (const [name, text] of Object.entries(words)) made.querySelector(`[data-${name}]`).textContent = text;
  for (const [name, deed] of Object.entries(does)) made.querySelector(`[data-${name}]`)?.addEventListener("click", deed);
  for (const [name, path] of Object.entries(leads)) made.querySelector(`[data-${name}]`).href = path;
  return made;
}

export const list = (name, lines) => part(name).replaceChildren(...lines);

// What was filled in, as it was typed: "here two, came 1".
export const typed = ({ form }) => Object.entries(form).filter(([, value]) => value).map(([name, value]) => `${name.replaceAll(/[._]/g, " ")} ${value}`).join(", ");

// What needs a person's eye; "" takes it away.
export function tell(sentence) {
  const told = part("told");
  told.querySelector("p").textContent = sentence;
  told.hidden = !sentence;
  if (sentence) told.focus();
}

let token = "";

// A tablet that is not admitted (any more) is answered {says}: that is a mistake like any other.
function told(ok, answer) {
  return { ok, ...answer, mistakes: answer.mistakes ?? { "": answer.says ?? "" } };
}

// The laptop's answer to this: {ok, ...}; null where it does not answer. What it refuses in a page of words comes back as {ok: false, mistakes}.
export async function send(path, body, again = true) {
  try {
    if (!token) {
      const contact = await (await fetch("/contact", { cache: "no-store", redirect: "error" })).json();
      if (!contact.token) return told(false, contact);
      token = contact.token;
    }
    const answer = await fetch(path, {
      method: "POST", redirect: "error", cache: "no-store",
      headers: { "Content-Type": "application/json", "X-CSRFToken": token }, body: JSON.stringify({ ...body, clock: Date.now() }),
    });
    if (answer.headers.get("Content-Type")?.startsWith("application/json")) return told(answer.ok, await answer.json());
    token = "";
    if (answer.status === 400 && again) return send(path, body, false); // the laptop's program was started again: a fresh token
    return { ok: false, mistakes: { "": `The laptop did not take this (${answer.status}). Open this page again.` } };
  } catch {
    return null;
  }
}
