// What this tablet holds: forms that the laptop has not taken yet, in order, each on the disk before anybody is told so.
//
// An entry is {seq, id, salt, kind, at, title, path, coarse, form, made, holder, name, saw}. `made` is this tablet's clock; for ballots and taps it is the
// start of the quarter hour or hour by the laptop's clock as last measured, so that no finer time of a ballot lies anywhere.
// A holder lapses after half an hour without use; what is held then belongs to the official who signs it on return.
import { deed } from "./store.js";

const QUARTER = 15 * 60_000;
const LAPSES = 3 * QUARTER; // the last use is noted as a quarter hour, so this is 30 to 45 idle minutes
const SECRET = ["csrf_token", "signer", "pin", "entry_id", "salt"];

export const fresh = () => crypto.randomUUID().replaceAll("-", "");
export const held = () => deed(["outbox"], "readonly", (outbox) => outbox.getAll());
export const settling = () => deed(["settle"], "readonly", (settle) => settle.getAll());
export const known = () => deed(["shell"], "readonly", (shell) => shell.get("tablet"));

// Add what the laptop said about this tablet to what is known: {tablet, holder, name, last_seq, offset, used}.
export const learn = (said) =>
  deed(["shell"], "readwrite", (shell) => {
    shell.get("tablet").onsuccess = ({ target }) => shell.put({ ...target.result, ...said }, "tablet");
  });

export const quarter = (now = Date.now()) => now - (now % QUARTER);

// Who holds this tablet as far as it knows: {holder, name}, both null when nobody does or they lapsed.
export function holding(tablet, now = Date.now()) {
  const lapsed = !tablet?.holder || now - (tablet.used ?? 0) >= LAPSES;
  return lapsed ? { holder: null, name: null } : { holder: tablet.holder, name: tablet.name };
}

// The entries of one form, not numbered yet: one for each step that is signed on it. `holds` is what the page says of them.
export function entries(holds, data, path) {
  return holds.map(({ kind, at, prefix, title, coarse }) => {
    const said = Object.fromEntries([...data].filter(([name, value]) => name.startsWith(prefix) && typeof value === "string").map(([name, value]) => [name.slice(prefix.length), value]));
    const form = Object.fromEntries(Object.entries(said).filter(([name]) => !SECRET.includes(name)));
    return { id: said.entry_id, salt: said.salt, kind, at, title, path, coarse, form };
  });
}

// What must still be filled in before a form can be held: [[name, sentence]].
export function missing(holds, data) {
  return holds.flatMap(({ prefix, asks }) =>
    ["not_so", "found", "done", "usual", "cell"].some((name) => String(data.get(prefix + name) ?? "").trim()) ? [] : Object.entries(asks).map(([name, says]) => [prefix + name, says]).filter(([name]) => !String(data.get(name) ?? "").trim()));
}

// Hold these, behind what is held already; what is done again is not to be settled any more. True when they are on the disk, also where they were before;
// false, with nothing held, where one of them is held with other figures.
export async function hold(drafts) {
  let other;
  await deed(["outbox", "shell", "saw", "settle"], "readwrite", (outbox, shell, saw, settle) => {
    outbox.getAll().onsuccess = ({ target: { result: before } }) => {
      const there = ({ id }) => before.find((one) => one.id === id);
      other = drafts.some((one) => there(one) && JSON.stringify(there(one).form) !== JSON.stringify(one.form));
      if (other) return;
      shell.get("tablet").onsuccess = ({ target: { result: tablet } }) => {
        saw.get("newest").onsuccess = ({ target: { result: seen } }) => {
          const now = Date.now();
          let seq = Math.max(tablet?.last_seq ?? 0, before.at(-1)?.seq ?? 0);
          for (const draft of drafts.filter((one) => !there(one))) {
            const laptop = now - (tablet?.offset ?? 0);
            seq += 1;
            outbox.add({ ...draft, seq, made: draft.coarse > 1 ? laptop - (laptop % draft.coarse) : now, ...holding(tablet, now), saw: seen ? [seen.record, seen.run, seen.number, seen.head] : null });
            settle.delete(draft.id);
            shell.delete(`draft /held/aside ${draft.id}`);
          }
          shell.put({ ...tablet, used: quarter(now) }, "tablet");
        };
      };
    };
  });
  return !other;
}

// The laptop answered: what is kept leaves, what is refused waits for a person to settle it, the rest is numbered on from the laptop's last line.
// results: {id: {number, says, words}}; what it does not name stays held. Without the laptop's last line the numbers begin where they began.
export function take(results, last_seq = null) {
  return deed(["outbox", "settle", "shell"], "readwrite", (outbox, settle, shell) => {
    outbox.getAll().onsuccess = ({ target: { result: before } }) => {
      const stay = before.filter(({ id }) => !results[id]);
      outbox.clear();
      const begins = last_seq === null ? before[0]?.seq : last_seq + 1;
      stay.forEach((one, i) => outbox.add({ ...one, seq: begins + i }));
      for (const one of before) {
        const { says, words, number } = results[one.id] ?? {};
        if (says) settle.put({ ...one, says, words, number, aside_id: fresh(), aside_salt: fresh() }, one.id);
      }
      if (last_seq !== null) shell.get("tablet").onsuccess = ({ target }) => shell.put({ ...target.result, last_seq }, "tablet");
    };
  });
}

// A person says of an entry that it is not to be kept as it is: it goes to the list to settle, with the rest numbered on.
export const setApart = (id, says, words) => take({ [id]: { says, words } });

// Done again or put aside: it leaves the list, and so does a reason half typed for it.
export const settled = (id) =>
  deed(["settle", "shell"], "readwrite", (settle, shell) => {
    settle.delete(id);
    shell.delete(`draft /held/aside ${id}`);
  });

// The reason that somebody began to type for putting this one aside, "" when none; kept here until it is settled.
export const reason = (id) => deed(["shell"], "readonly", (shell) => shell.get(`draft /held/aside ${id}`)).then((words) => words ?? "");
export const keepReason = (id, words) => deed(["shell"], "readwrite", (shell) => void shell.put(words, `draft /held/aside ${id}`));
