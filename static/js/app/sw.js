// The worker: keeps the app's own files, so that it opens without the shop's computer. It stamps nothing and knows no time.
//
// The server writes the list of files and a version into the next line; nearly all of them come in one piece, which
// packs far better than file by file. A new version is fetched beside the old one and waits: it takes over when the page says so, or when every tab is closed. Only `/app/` and the listed files are ours;
// /api and the office are never touched.

// prettier-ignore
const SHELL = /*SHELL*/{"version":"dev","files":["/app/"]};
const PREFIX = "bayflow-app-";
const CACHE = PREFIX + SHELL.version;
const PAGE = "/app/";
const PACK = "/app/pack";
const FILES = new Set(SHELL.files);

async function pack() {
  const answer = await fetch(PACK, { cache: "no-store" });
  const { version, files } = await answer.json();
  if (version !== SHELL.version) throw new Error(`asked for ${SHELL.version}, the shop has ${version}`);
  return files;
}

async function keepFiles() {
  const cache = await caches.open(CACHE);
  try {
    const packed = await pack();
    const loose = SHELL.files.filter((url) => !(url in packed));
    await Promise.all([
      cache.addAll(loose.map((url) => new Request(url, { cache: "no-cache" }))),
      ...Object.entries(packed).map(([url, [type, text]]) =>
        cache.put(url, new Response(text, { headers: { "Content-Type": type } })),
      ),
    ]);
  } catch (error) {
    await caches.delete(CACHE);
    throw error;
  }
}

async function dropOld() {
  for (const name of await caches.keys()) {
    if (name.startsWith(PREFIX) && name !== CACHE) await caches.delete(name);
  }
  await clients.claim();
}

async function fromCache(key, request) {
  const cache = await caches.open(CACHE);
  return (await cache.match(key)) ?? fetch(request);
}

self.addEventListener("install", (event) => event.waitUntil(keepFiles()));
self.addEventListener("activate", (event) => event.waitUntil(dropOld()));
self.addEventListener("message", (event) => event.data === "take over" && self.skipWaiting());

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin) return;
  if (request.mode === "navigate") {
    if (url.pathname.startsWith(PAGE)) event.respondWith(fromCache(PAGE, request));
  } else if (FILES.has(url.pathname) && url.pathname !== PAGE) {
    event.respondWith(fromCache(url.pathname, request));
  }
});
