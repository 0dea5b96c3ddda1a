/* Keeps the page At the bed on the phone, so that it opens without signal.

   The server writes the line before this one: KEPT = {name, page, files}. All three change with what the page is
   made of. Kept is this one version, whole; nothing else is, neither lists nor what is sent. */
"use strict";

/* Whoever is within reach gets the page as it is now; after so long the kept one is shown. */
const PATIENCE_MS = 2500;

self.addEventListener("install", (event) => {
  const kept = [KEPT.page, ...KEPT.files].map((at) => new Request(at, { cache: "reload" }));
  event.waitUntil(caches.open(KEPT.name).then((cache) => cache.addAll(kept)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  event.waitUntil(caches.keys()
    .then((names) => names.filter((name) => name.startsWith("bed-") && name !== KEPT.name))
    .then((old) => Promise.all(old.map((name) => caches.delete(name))))
    .then(() => self.clients.claim()));
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const at = new URL(request.url);
  if (request.method !== "GET" || at.origin !== self.location.origin) { return; }
  if (request.mode === "navigate" && at.pathname === "/bed") {
    event.respondWith(page(request));
  } else if (KEPT.files.includes(at.pathname)) {
    event.respondWith(caches.match(at.pathname, { cacheName: KEPT.name }).then((kept) => kept || fetch(request)));
  }
});

async function page(request) {
  const kept = await caches.match(KEPT.page, { cacheName: KEPT.name });
  if (!kept) { return fetch(request); }
  const late = new Promise((done) => { setTimeout(done, PATIENCE_MS, kept); });
  const now = fetch(request).then((answer) => (answer.status >= 500 ? kept : answer), () => kept);
  return Promise.race([now, late]);
}
