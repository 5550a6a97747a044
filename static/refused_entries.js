// What the record refused: each waits here until somebody does it anew or puts it aside with a reason. Nothing is dropped.
import { keepReason, reason, settled, settling } from "./outbox.js";
import { line, list, part, send, tell, typed } from "./list_rows.js";

let chosen = null; // the one that is being put aside

// The list; `known` = {id: number} of those that the record has, since they were done again.
export async function showSettling(known = {}) {
  const refused = await settling();
  for (const one of refused.filter(({ id }) => known[id])) {
    await settled(one.id);
    part("done").append(line("kept-row", { words: one.words || one.title, by: `done again, entry ${known[one.id]}` }));
  }
  const left = refused.filter(({ id }) => !known[id]);
  list("settle", left.map((one) => line("settle-row", { words: one.words || one.title, by: `${one.name ? `${one.name}. ` : ""}Typed: ${typed(one)}`, says: one.says }, { put: () => choose(one) }, { anew: `${one.path}?draft=${one.id}#anew=${one.id}` })));
  part("none").hidden = left.length > 0;
}

// Ids of those that may have been done again: all but those that were refused since the record has them with other figures.
export const asked = async () => (await settling()).filter(({ number }) => !number).map(({ id }) => id);

async function choose(one) {
  chosen = one;
  const field = part("aside").querySelector("textarea");
  field.value = "";
  part("aside-words").textContent = `\u2068${one.words || one.title}\u2069 The record said: ${one.says}`;
  part("aside").hidden = false;
  field.focus();
  const words = await reason(one.id);
  if (chosen === one) field.value ||= words; // whoever types at once is newer than what lay here
}

part("aside")?.querySelector("textarea").addEventListener("input", ({ target }) => chosen && keepReason(chosen.id, target.value));

part("aside")?.querySelector("form").addEventListener("submit", async (event) => {
  event.preventDefault();
  const form = event.target;
  const said = new FormData(form);
  const { aside_id, aside_salt, says, ...held } = chosen;
  const answer = await send("/held/aside", { held, aside_id, aside_salt, says, reason: said.get("aside-reason"), signer: said.get("aside-signer") ?? "", pin: said.get("aside-pin") });
  delete form.dataset.sent;
  form.elements["aside-pin"].value = "";
  if (!answer) return tell("The laptop does not answer. The entry stays in this list.");
  if (!answer.ok) return tell(Object.values(answer.mistakes).join(" "));
  tell("");
  await settled(chosen.id);
  part("done").append(line("kept-row", { words: chosen.words || chosen.title, by: `put aside, incident ${answer.number}` }));
  form.reset();
  part("aside").hidden = true;
  dispatchEvent(new Event("settled"));
});
