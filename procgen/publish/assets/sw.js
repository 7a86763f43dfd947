/* Keeps this guide. Before these lines the build writes KEPT: the edition, the fingerprint of its list, the
   list itself (path: integrity), what is only downloaded, and the words for what is not here.

   An edition is fetched whole into a cache of its own. Which cache answers is one mark, changed only when the
   reader agrees; a new worker taking over changes no page. Nothing in this folder is answered by the network,
   except downloads and the question which edition is published. */
"use strict";
const SCOPE = self.registration.scope;
const PREFIX = "procgen|" + SCOPE + "|"; /* the caches of an origin are shared by all its folders */
const OWN = PREFIX + KEPT.print;
const MARKS = PREFIX + "mark";
const WHOLE = SCOPE + "?whole"; /* written last into a cache: all of its edition is there */
const CHOSEN = SCOPE + "?chosen";
let answering = null; /* the chosen cache, asked for once */

async function marked(cache, mark) {
  if (!(await caches.has(cache))) return null;
  const found = await (await caches.open(cache)).match(mark);
  return found ? found.json() : null;
}

async function chosen() {
  const mark = await marked(MARKS, CHOSEN);
  return mark && (await marked(mark.cache, WHOLE)) ? mark.cache : null;
}

async function choose(cache) {
  const { edition } = await marked(cache, WHOLE);
  await (await caches.open(MARKS)).put(CHOSEN, Response.json({ cache, edition }));
  answering = cache;
}

async function tell(message) {
  const pages = await self.clients.matchAll({ includeUncontrolled: true, type: "window" });
  pages.filter((page) => page.url.startsWith(SCOPE)).forEach((page) => page.postMessage(message));
}

/* ---------- fetching an edition whole ---------- */

async function held() {
  const names = (await caches.keys()).filter((name) => name.startsWith(PREFIX) && name !== MARKS);
  return Promise.all(names.map((name) => caches.open(name)));
}

async function integrityOf(response) {
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", await response.arrayBuffer()));
  return "sha256-" + btoa(String.fromCharCode(...digest));
}

/* What an earlier edition or a broken-off attempt brought is used again, if it is the same to the byte. */
async function already(url, integrity, stores) {
  for (const store of stores) {
    const found = await store.match(url);
    if (found && (await integrityOf(found.clone())) === integrity) return found;
  }
  return null;
}

async function download(url, integrity) {
  const ask = async (cache) => {
    const answer = await fetch(url, { integrity, cache, credentials: "same-origin" });
    if (!answer.ok) throw new Error(url + ": " + answer.status);
    return answer;
  };
  /* What the browser has just loaded is not loaded twice; if that copy is another edition's, asked anew. */
  const answer = await ask("default").catch(() => ask("reload"));
  /* A redirected answer may not stand for a page: keep its content, not its way. */
  return new Response(await answer.blob(), { headers: { "Content-Type": answer.headers.get("Content-Type") || "" } });
}

async function fetchWhole() {
  const paths = Object.keys(KEPT.files);
  const stores = await held();
  const cache = await caches.open(OWN);
  let done = 0;
  const lane = async () => {
    for (let path = paths.shift(); path !== undefined; path = paths.shift()) {
      const url = SCOPE + path;
      const found = await already(url, KEPT.files[path], stores);
      await cache.put(url, found || (await download(url, KEPT.files[path])));
      done += 1;
      tell({ type: "progress", edition: KEPT.edition, done, of: Object.keys(KEPT.files).length });
    }
  };
  try {
    await Promise.all([lane(), lane(), lane(), lane()]);
    await cache.put(WHOLE, Response.json({ edition: KEPT.edition, print: KEPT.print }));
    if (!(await chosen())) await choose(OWN);
  } catch (error) {
    paths.length = 0;
    const full = error.name === "QuotaExceededError";
    if (full) await caches.delete(OWN);
    await tell({ type: "failed", edition: KEPT.edition, why: full ? "full" : "incomplete" });
    throw error;
  }
}

self.addEventListener("install", (event) => {
  event.waitUntil(fetchWhole().then(() => self.skipWaiting()));
});

/* ---------- one edition at a time ---------- */

async function tidy(...spare) {
  const keep = [MARKS, await chosen(), ...spare];
  const names = (await caches.keys()).filter((name) => name.startsWith(PREFIX) && !keep.includes(name));
  await Promise.all(names.map((name) => caches.delete(name)));
}

async function takeOver() {
  const mark = await marked(MARKS, CHOSEN);
  if (mark && mark.edition === KEPT.edition) await choose(OWN);
  await tidy(OWN);
  await self.clients.claim();
  await tell({ type: "ready", edition: KEPT.edition });
}

async function change(cache) {
  if (!String(cache).startsWith(PREFIX) || !(await marked(cache, WHOLE))) return;
  await choose(cache);
  await tidy();
  await tell({ type: "changed" });
}

self.addEventListener("activate", (event) => event.waitUntil(takeOver()));
self.addEventListener("message", (event) => {
  if (event.data && event.data.type === "change") event.waitUntil(change(event.data.cache));
});

/* ---------- answering ---------- */

function note(words) {
  return new Response(words, { status: 404, headers: { "Content-Type": "text/plain; charset=utf-8" } });
}

async function answer(request, path) {
  answering = answering || (await chosen());
  for (const candidate of answering ? [path, path + ".html", path + "index.html"] : []) {
    const found = candidate && (await caches.match(SCOPE + candidate, { cacheName: answering }));
    if (found) return found;
  }
  if (await chosen()) return note(KEPT.words.missing);
  answering = null; /* the phone has cleared everything: then every page is the network's */
  return fetch(request);
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || !request.url.startsWith(SCOPE) || url.search === "?published") return;
  const path = url.pathname.slice(new URL(SCOPE).pathname.length);
  if (KEPT.downloads.some((end) => path.endsWith(end))) {
    event.respondWith(fetch(request).catch(() => note(KEPT.words.download)));
  } else {
    event.respondWith(answer(request, path));
  }
});
