// Keeps the bench's page and its parts on the device: without a connection it still opens.
// Nothing personal is kept here; what the shop holds lies in the page's own store.

const SHELF = "bench-2";
const PAGE = "/bench/";
const PATIENCE_MS = 3000;
const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));

worker.addEventListener("install", (event) => {
  event.waitUntil(fetch(PAGE, { cache: "reload" }).then(shelve).then(() => worker.skipWaiting()));
});

worker.addEventListener("activate", (event) => {
  event.waitUntil(caches.keys()
    .then((names) => Promise.all(names.filter((name) => name !== SHELF).map((name) => caches.delete(name))))
    .then(() => worker.clients.claim()));
});

/**
 * The page, and every part that it and its parts name.
 * @param {Response} page
 */
async function shelve(page) {
  if (!page.ok || page.redirected) return;
  const shelf = await caches.open(SHELF);
  await shelf.put(PAGE, page.clone());
  const found = [...(await page.text()).matchAll(/(?:src|href)="(\/static\/[^"]+)"/g)];
  await Promise.all(found.map(([, address]) => shelvePart(shelf, address)));
}

/**
 * A part that lies there already may name one that does not yet.
 * @param {Cache} shelf
 * @param {string} address
 */
async function shelvePart(shelf, address, seen = new Set()) {
  if (seen.has(address)) return;
  seen.add(address);
  let part = await shelf.match(address);
  if (!part) {
    part = await fetch(address, { cache: "reload" });
    if (!part.ok) return;
    await shelf.put(address, part.clone());
  }
  if (!address.endsWith(".js")) return;
  const named = [...(await part.text()).matchAll(/from "\.\/([^"]+)"/g)];
  await Promise.all(named.map(([, name]) => shelvePart(shelf, `/static/${name}`, seen)));
}

worker.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method !== "GET") return;
  const { origin, pathname } = new URL(request.url);
  if (origin !== worker.location.origin) return;
  if (pathname === PAGE && request.mode === "navigate") event.respondWith(fresh(event, PAGE, shelve));
  else if (pathname.startsWith("/static/")) event.respondWith(fresh(event, pathname, renew));
});

/**
 * The server's word while it answers soon, kept for later; else what is on the shelf.
 * @param {FetchEvent} event
 * @param {string} address
 * @param {(answer: Response, address: string) => Promise<void>} keep
 */
async function fresh(event, address, keep) {
  try {
    const answer = await fetch(event.request, { signal: AbortSignal.timeout(PATIENCE_MS) });
    event.waitUntil(keep(answer.clone(), address));
    return answer;
  } catch (error) {
    const kept = await (await caches.open(SHELF)).match(address);
    if (kept) return kept;
    throw error;
  }
}

/**
 * Only what the bench needs lies on the shelf; it is kept as new as it was seen.
 * @param {Response} answer
 * @param {string} address
 */
async function renew(answer, address) {
  const shelf = await caches.open(SHELF);
  if (answer.ok && (await shelf.match(address))) await shelf.put(address, answer);
}
