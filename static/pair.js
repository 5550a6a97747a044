// What this tablet can do, found by doing it: the worker registers and the store keeps what is written. Then it is "full", else "online".
const LATE = 8000; // ms after which a test that does not answer has failed

const within = (work) => Promise.race([work, new Promise((_, fail) => setTimeout(() => fail(new Error("late")), LATE))]);

async function works() {
  if (!navigator.serviceWorker || !isSecureContext) return false;
  await navigator.serviceWorker.register("/worker.js");
  await navigator.serviceWorker.ready;
  await new Promise((done, fail) => {
    const opening = indexedDB.open("tapeseal-test", 1);
    opening.onupgradeneeded = () => opening.result.createObjectStore("test");
    opening.onerror = () => fail(opening.error);
    opening.onsuccess = () => {
      const base = opening.result;
      const deed = base.transaction("test", "readwrite", { durability: "strict" });
      deed.objectStore("test").put("kept", 1);
      deed.onabort = () => fail(deed.error);
      deed.oncomplete = () => {
        const back = base.transaction("test").objectStore("test").get(1);
        back.onerror = () => fail(back.error);
        back.onsuccess = () => {
          base.close();
          back.result === "kept" ? done() : fail(new Error("lost"));
        };
      };
    };
  });
  await navigator.storage?.persist?.();
  return true;
}

const field = document.querySelector("[data-level]");
const said = document.querySelector("[data-tested]");
const button = field.form.querySelector("button");
button.disabled = true;
said.textContent = "Testing whether this tablet can hold entries out of reach of the laptop.";
const full = await within(works()).catch(() => false);
field.value = full ? "full" : "online";
button.disabled = false;
said.textContent = full
  ? "Full: this tablet goes on when the laptop is out of reach, and holds what is noted until it answers."
  : "Online only: this tablet works within reach of the laptop and holds nothing. To make it full, install the office's certificate on it first; the page at the laptop says how.";
