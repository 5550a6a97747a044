// The one opener of the tablet's own store, IndexedDB "tapeseal": outbox (entries held here), saw (the newest state of the record that
// was shown here), mine (this tablet's kept entries), settle (what the record refused), shell (what the worker needs).
// Minimal so far: what the memory of the tablet needs. Going on alone builds on it.
const STORES = { outbox: { keyPath: "seq" }, saw: {}, mine: {}, settle: {}, shell: {} };
let opening = null;

// The opened database; one opening a page.
export function open() {
  opening ??= new Promise((done, refuse) => {
    const asked = indexedDB.open("tapeseal", 1);
    asked.onupgradeneeded = () => Object.entries(STORES).forEach(([name, how]) => asked.result.createObjectStore(name, how));
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => refuse(asked.error);
  });
  return opening;
}
