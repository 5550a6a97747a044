// What this tablet can do, found by doing it: the worker registers and the store keeps what is written. Then it is "full", else "online".
const LATE = 8000; // ms after which a test that does not answer has failed

const within = (work) => Promise.race([work, new Promise((_, fail) => setTimeout(() => fail(new Error("late")), LATE))]);

async function works() {
  if (!navigator.serviceWorker || !isSecureContext) return false;
  await navigator.serviceWorker.register("/worker.js", { updateViaCache: "none" });
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

// The words for each level stand on the page. A test by hand is sent only when it finds another level than the laptop knows.
async function test() {
  button.disabled = true;
  said.textContent = said.dataset.testing;
  const found = (await within(works()).catch(() => false)) ? "full" : "online";
  const other = found !== field.value;
  field.value = found;
  button.disabled = false;
  said.textContent = said.dataset[found];
  return other;
}

if ("again" in button.dataset) {
  button.hidden = false;
  button.addEventListener("click", async (event) => {
    event.preventDefault();
    if (await test()) field.form.requestSubmit();
  });
} else test();
