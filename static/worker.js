// The worker: keeps the shell that is listed above it (VERSION, FILES, PAGES), and nothing else, for when the laptop does not answer.
//
// Whether it answers is told by the request that failed, never by what the browser thinks of its network. A page that cannot be had is
// answered with the blank form kept for it; a form that cannot be sent stays on the screen, and its page is told. A new version waits
// until every page of the old one is closed.
const CACHE = `tapeseal-shell-${VERSION}`;
const PATIENCE = { GET: 15_000, POST: 20_000 }; // ms; a laptop that is gone refuses at once, one out of radio says nothing at all
const SHORT = 3_000; // after one such silence
let silent = 0;

addEventListener("install", (event) => event.waitUntil(install()));
addEventListener("activate", (event) => event.waitUntil(forgetOthers()));

async function install() {
  const cache = await caches.open(CACHE);
  await cache.addAll(FILES.map((path) => new Request(path, { cache: "reload" })));
  await fill();
}

// The pages of the shell are for admitted tablets: on one that waits to be admitted they come later, when a page of the day asks for them.
async function fill() {
  const cache = await caches.open(CACHE);
  for (const path of PAGES) {
    if (await cache.match(path)) continue;
    const answer = await fetch(path, { redirect: "error", cache: "reload" }).catch(() => null);
    if (!answer?.ok) return;
    await cache.put(path, answer);
  }
}

async function forgetOthers() {
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name.startsWith("tapeseal-shell-") && name !== CACHE).map((name) => caches.delete(name)));
}

addEventListener("message", (event) => {
  if (event.data === "fill") event.waitUntil(fill());
  if (event.data === "version") event.waitUntil(tellVersion(event.ports[0]));
});

async function tellVersion(port) {
  const cache = await caches.open(CACHE);
  const kept = await cache.keys();
  port.postMessage({ version: VERSION, whole: kept.length === FILES.length + PAGES.length });
}

addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (origin !== location.origin) return;
  if (request.mode === "navigate") event.respondWith(navigate(request, pathname));
  else if (request.method === "GET" && FILES.includes(pathname)) event.respondWith(file(request, pathname));
});

async function file(request, pathname) {
  const cache = await caches.open(CACHE);
  return (await cache.match(pathname)) ?? fetch(request);
}

async function navigate(request, pathname) {
  const patience = Date.now() - silent < 120_000 && request.method === "GET" ? SHORT : PATIENCE[request.method];
  let timer;
  const silence = new Promise((_, refuse) => {
    timer = setTimeout(() => {
      silent = Date.now();
      refuse(new Error("the laptop does not answer"));
    }, patience);
  });
  try {
    const answer = await Promise.race([fetch(request), silence]);
    silent = 0;
    return answer;
  } catch {
    return request.method === "GET" ? shell(pathname) : stay(pathname);
  } finally {
    clearTimeout(timer);
  }
}

// The nearest page of the shell: the very form; the same at the one place there is; or the page for all others.
async function shell(pathname) {
  const cache = await caches.open(CACHE);
  for (const path of [pathname, pathname.replace(/:[^/]*$/, ""), pathname.replace(/\/[^/]*$/, ""), ""]) {
    const kept = PAGES.includes(`/shell${path}`) && (await cache.match(`/shell${path}`));
    if (kept) return kept;
  }
  return new Response("The laptop does not answer, and this tablet keeps no page for that yet. Go to the laptop.", { status: 503, headers: { "Content-Type": "text/plain" } });
}

// An answer without content leaves the page on the screen, with all that was typed.
async function stay(pathname) {
  for (const window of await clients.matchAll({ type: "window", includeUncontrolled: true })) window.postMessage({ unsent: pathname });
  return new Response(null, { status: 204 });
}
