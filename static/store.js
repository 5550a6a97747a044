// The one opener of the tablet's own store, IndexedDB "tapeseal": outbox (entries held here), saw (the newest state of the record that
// was shown here), mine (this tablet's kept entries), settle (what the record refused), shell (what this tablet knows of itself).
const STORES = { outbox: { keyPath: "seq" }, saw: {}, mine: {}, settle: {}, shell: {} };
let opening = null;

// The opened database; one opening a page. One that was refused, or that the browser closed, is tried again by the next deed.
export function open() {
  opening ??= new Promise((done, refuse) => {
    const asked = indexedDB.open("tapeseal", 1);
    asked.onupgradeneeded = () => Object.entries(STORES).forEach(([name, how]) => asked.result.createObjectStore(name, how));
    asked.onsuccess = () => {
      asked.result.onclose = () => (opening = null);
      done(asked.result);
    };
    asked.onerror = () => refuse(asked.error);
  }).catch((why) => {
    opening = null;
    throw why;
  });
  return opening;
}

// One deed in these stores, all of it or nothing. When it is awaited it is on the disk; what `work` returns is a request, whose result comes back.
export async function deed(stores, mode, work) {
  const db = await open();
  return new Promise((done, refuse) => {
    const transaction = db.transaction(stores, mode, { durability: "strict" });
    const asked = work(...stores.map((name) => transaction.objectStore(name)));
    transaction.oncomplete = () => done(asked?.result);
    transaction.onabort = transaction.onerror = () => refuse(transaction.error);
  });
}
