/* Lets a check sheet open in a hall without a network, after one visit with one.

   What it keeps, and nothing else:
   - The sheet pages this coach opened. They hold the names of the children of a class, because a
     coach on the mats can do nothing with bare numbers. A kept page is shown for 24 hours at most,
     long enough to open it at home before a class. It is deleted when somebody signs out on this
     device and when somebody signs in, who may be somebody else; when the gym's computer no longer
     shows the page to this coach; and, once it is too old, the next time this worker runs. No other page with a name in it is ever kept, and no
     answer to a script.
   - The static files those pages are drawn with. They hold nothing about anybody.

   Raise VERSION when this file changes what it keeps: everything kept before is then deleted. */

const VERSION = "1";
const OURS = "gym-sheet-";
const SHEETS = `${OURS}pages-${VERSION}`;
const FILES = `${OURS}files-${VERSION}`;
const OLDEST = 24 * 60 * 60 * 1_000;
const PATIENCE = 4_000; // how long a coach waits for a weak network before the kept copy is shown
const KEPT_AT = "X-Kept-At";

const HOME = new URL(self.registration.scope).pathname;
const STATIC = new URL(self.location).searchParams.get("static") ?? `${HOME}static/`;

/* Once the network was too slow, files are taken from the device for a while without asking: a page
   is drawn with many files, and a coach must not wait for each. */
let slowUntil = 0;
const copies = new Set(); // the pages that were drawn from a kept copy
let keeping = Promise.resolve(); // one after another, so that nothing is fetched twice

self.addEventListener("install", () => { self.skipWaiting(); });

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) {
      if (name.startsWith(OURS) && ![SHEETS, FILES].includes(name)) { await caches.delete(name); }
    }
    await clearOld();
    await self.clients.claim();
  })());
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== self.location.origin) { return; }
  const changesPerson = /\/accounts\/log(in|out)\/$/.test(url.pathname);
  if (request.method === "POST" && changesPerson) { event.waitUntil(forget()); }
  if (request.method !== "GET") { return; }
  if (request.mode === "navigate") {
    event.waitUntil(clearOld());
    if (isSheet(url)) { event.respondWith(sheet(event, url)); }
  } else if (url.pathname.startsWith(STATIC)) {
    event.respondWith(file(event));
  }
});

/* A page may say { type: "keep", page, files }, because the very first sheet is drawn before this
   worker is there to see it, or with `afresh`, because what it shows has changed since; it is told
   whether the sheet is kept. Or { type: "forget" }. Or { type: "was-kept" }, to be told whether it
   is a kept copy itself. */
self.addEventListener("message", (event) => {
  if (event.data?.type === "forget") { event.waitUntil(forget()); }
  if (event.data?.type === "was-kept") { event.ports[0]?.postMessage(copies.has(event.source?.id)); }
  if (event.data?.type === "keep") {
    keeping = keeping.then(() => keepMissing(event.data)).catch(() => false);
    event.waitUntil(keeping.then((kept) => event.ports[0]?.postMessage(kept)));
  }
});

function isSheet(url) {
  const place = url.pathname.startsWith(HOME) ? url.pathname.slice(HOME.length) : "";
  return /^classes\/[^/]+\/checks\/$/.test(place);
}

/* One copy for each class, whatever its query says. */
async function sheet(event, url) {
  const cache = await caches.open(SHEETS);
  const kept = await young(cache, url.pathname);
  const network = fetch(event.request).then(async (answer) => {
    await learn(cache, url.pathname, answer).catch(() => null); // a full device still gets its page
    return answer;
  });
  const answer = await firstOf(event, network, kept);
  if (answer === kept) { copies.add(event.resultingClientId); }
  return answer;
}

async function learn(cache, key, answer) {
  const isPage = (answer.headers.get("Content-Type") ?? "").startsWith("text/html");
  // A redirect is the way to the sign-in page; it and a page for trouble are not the sheet.
  if (answer.status === 200 && answer.type === "basic" && !answer.redirected && isPage) {
    await store(cache, key, answer.clone());
  } else if (answer.status === 403 || answer.status === 404 || answer.status === 410) {
    await cache.delete(key);
  }
}

async function file(event) {
  const client = event.clientId ? await self.clients.get(event.clientId) : null;
  if (!client || !isSheet(new URL(client.url))) { return fetch(event.request); }
  const cache = await caches.open(FILES);
  const kept = await cache.match(event.request);
  const network = fetch(event.request).then(async (answer) => {
    if (answer.status === 200) { await store(cache, event.request, answer.clone()).catch(() => null); }
    return answer;
  });
  if (kept && Date.now() < slowUntil) {
    event.waitUntil(network.catch(() => null));
    return kept;
  }
  return firstOf(event, network, kept);
}

/* The network's answer; the kept one when that fails or takes too long. The network comes first
   for files too: a new page drawn with last week's script would be worse than a short wait. */
async function firstOf(event, network, kept) {
  event.waitUntil(network.catch(() => null)); // a late answer is still worth keeping
  if (!kept) { return network; }
  const late = new Promise((resolve) => { setTimeout(resolve, PATIENCE, null); });
  const answer = await Promise.race([network.catch(() => null), late]);
  // A gym's computer that is starting again must not take the sheet away either.
  if (answer && answer.status < 500) { slowUntil = 0; return answer; }
  slowUntil = Date.now() + 30_000;
  return kept;
}

async function store(cache, key, answer) {
  const headers = new Headers(answer.headers); // the content security policy among them
  headers.set(KEPT_AT, String(Date.now()));
  const { status, statusText } = answer;
  await cache.put(key, new Response(await answer.blob(), { status, statusText, headers }));
}

function isYoung(answer) {
  const age = Date.now() - Number(answer.headers.get(KEPT_AT));
  return age >= 0 && age < OLDEST;
}

async function young(cache, key) {
  const kept = await cache.match(key);
  return kept && isYoung(kept) ? kept : null;
}

async function clearOld() {
  const cache = await caches.open(SHEETS);
  for (const key of await cache.keys()) {
    const kept = await cache.match(key);
    if (kept && !isYoung(kept)) { await cache.delete(key); }
  }
}

function forget() {
  return caches.delete(SHEETS);
}

async function keepMissing({ page, files, afresh = false }) {
  const address = new URL(page, self.location);
  if (address.origin !== self.location.origin || !isSheet(address)) { return false; }
  const pages = await caches.open(SHEETS);
  if (afresh || !(await young(pages, address.pathname))) {
    await learn(pages, address.pathname, await fetch(address, { redirect: "manual" }));
  }
  const cache = await caches.open(FILES);
  for (const name of files) {
    const url = new URL(name);
    const ours = url.origin === self.location.origin && url.pathname.startsWith(STATIC);
    if (ours && !(await cache.match(url))) {
      const answer = await fetch(url);
      if (answer.status === 200) { await store(cache, url, answer); }
    }
  }
  return Boolean(await young(pages, address.pathname));
}
