// Keeps the weigh-up of a batch under way, so that it opens again without network.
// What its scripts and the book say to each other: kettle/weighing/offline_protocol.py.
// The book puts VERSION and FILES, what the page is made of, in front of this.

const PAGES = "kettle-pages"; // thrown away when somebody signs out
const WEIGH_UP = /\/kettle\/[^/]+\/weigh\/$/;
const PATIENCE_MS = 8000;
const pathOf = (url) => new URL(url).pathname;

self.addEventListener("install", (event) => {
  self.skipWaiting();
  event.waitUntil(caches.open(VERSION).then((cache) => cache.addAll(FILES)));
});

self.addEventListener("activate", (event) => event.waitUntil(begin()));

// Pages kept before go with the scripts they were made for; those open now are kept anew.
async function begin() {
  for (const name of await caches.keys()) if (name !== VERSION) await caches.delete(name);
  await self.clients.claim();
  for (const { url } of await self.clients.matchAll())
    if (WEIGH_UP.test(pathOf(url))) await askForPage(url).catch(() => null);
}

async function askForPage(request) {
  const answer = await fetch(request);
  if (answer.status >= 500) return answer;
  const pages = await caches.open(PAGES);
  const path = pathOf(request.url ?? request);
  if (answer.ok && !answer.redirected) await pages.put(path, answer.clone());
  else await pages.delete(path); // the batch is over, or nobody is signed in
  return answer;
}

// The book's own answer, unless it does not come: then what is kept here.
async function answer(request, cacheName, ask) {
  const cache = await caches.open(cacheName);
  const kept = await cache.match(pathOf(request.url), { ignoreVary: true });
  if (!kept) return ask(request);
  const late = new Promise((resolve) => setTimeout(resolve, PATIENCE_MS, kept));
  const asked = ask(request).then((found) => (found.status >= 500 ? kept : found));
  return Promise.race([asked.catch(() => kept), late]);
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const path = pathOf(request.url);
  if (request.method !== "GET") return;
  if (request.mode === "navigate" && WEIGH_UP.test(path))
    event.respondWith(answer(request, PAGES, askForPage));
  // The page asks for itself, to be kept as it stands now: that is only told when it is done.
  else if (WEIGH_UP.test(path) && !request.headers.get("Accept").includes("json"))
    event.respondWith(askForPage(request));
  else if (FILES.includes(path)) event.respondWith(answer(request, VERSION, fetch));
});
