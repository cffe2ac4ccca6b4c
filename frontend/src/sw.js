/* Keeps the pages on the device. The service's own data never pass through here: they are in IndexedDB. */
const NAME = "firstfrost-__VERSION__";
const FILES = ["__FILES__"];

self.addEventListener("install", (event) => {
  event.waitUntil(
    caches
      .open(NAME)
      .then((cache) => cache.addAll(FILES.map((path) => new Request(path, { cache: "reload" }))))
      .then(() => self.skipWaiting()),
  );
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    caches
      .keys()
      .then((names) => Promise.all(names.filter((name) => name.startsWith("firstfrost-") && name !== NAME).map((name) => caches.delete(name))))
      .then(() => self.clients.claim()),
  );
});

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== self.location.origin || url.pathname.startsWith("/api/")) return;
  if (event.request.mode === "navigate") {
    // From the device at once; a new version is fetched beside it and serves the next start.
    event.respondWith(caches.match("/", { cacheName: NAME }).then((page) => page ?? fetch(event.request)));
    return;
  }
  event.respondWith(caches.match(event.request, { cacheName: NAME }).then((file) => file ?? fetch(event.request)));
});
