// The worker that keeps the app on the phone. Its address never changes, so that it can always be replaced.
//
// One cache holds one version whole: install fills it file by file and fails unless every body has the hash
// that the build wrote down. Pages are answered from that cache alone, so that one version's files never meet
// another's. Nothing else is ever stored. A new version waits until a page asks for it.
//
// Messages from a page, each answered on the port that comes with it, if any:
//   { type: "verify" }  →  { ok, version }: is every listed file in the cache (fetching what was lost, if it can)?
//   { type: "apply" }   →  no answer; the waiting version takes over.

// Filled in by tools/bundle.mjs: a hash over everything below and all files, and { "./path": sha256 in hex }.
const VERSION = "{{version}}";
const FILES = "{{files}}";

// The origin may be shared with other apps, and with another copy of this one under another path: both the
// name and the path are part of the cache's name.
const SCOPE = new URL(self.registration.scope);
const NAME = /^ohms-([0-9a-f]+)@(.*)$/;
const CACHE = `ohms-${VERSION}@${SCOPE.pathname}`;

const address = (path) => new URL(path, SCOPE).href;
const LISTED = new Set(Object.keys(FILES).map(address));

/** Our caches of other versions: older ones, and what a broken-off install left. */
async function otherVersions() {
  const names = await caches.keys();
  return names.filter((name) => NAME.exec(name)?.[2] === SCOPE.pathname && name !== CACHE);
}

async function sha256(bytes) {
  const hash = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return Array.from(hash, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** The response rebuilt with nothing but its type and body, or null if the body is not the listed one. */
async function checked(path, response) {
  const body = await response.arrayBuffer();
  if ((await sha256(body)) !== FILES[path]) return null;
  // Rebuilt, because some browsers refuse to open a page from a response that was redirected.
  const type = response.headers.get("Content-Type");
  return new Response(body, { headers: type ? { "Content-Type": type } : {} });
}

async function fromOtherVersions(path) {
  for (const name of await otherVersions()) {
    const kept = await (await caches.open(name)).match(address(path), { ignoreVary: true });
    const good = kept && (await checked(path, kept));
    if (good) return good;
  }
  return null;
}

// A file with its hash in its name was usually fetched by the page a moment ago, so the browser's own cache is
// asked first: on a weak signal nothing is sent twice. The hash check makes that safe. All others, and any
// that fails the check, come fresh from the server.
async function fromServer(path) {
  const hashed = /-[0-9a-f]{16}\.\w+$/.test(path);
  for (const cache of hashed ? ["default", "reload"] : ["reload"]) {
    const response = await fetch(address(path), { cache });
    const good = response.ok && (await checked(path, response));
    if (good) return good;
  }
  throw new Error(`${path}: the server sent something else than this version's file`);
}

// A look into this version's cache that never creates it: opening a deleted cache would leave an empty one behind.
const stored = (url) => caches.match(url, { cacheName: CACHE, ignoreVary: true });

/** Listed files that are not in this version's cache. */
async function missing() {
  const lost = [];
  for (const path of Object.keys(FILES)) {
    if (!(await stored(address(path)))) lost.push(path);
  }
  return lost;
}

// One at a time, which is kinder to a weak signal than all at once; what an earlier, broken-off try has stored
// was checked then and is not fetched again.
async function fill() {
  const cache = await caches.open(CACHE);
  for (const path of await missing()) {
    await cache.put(address(path), (await fromOtherVersions(path)) ?? (await fromServer(path)));
  }
  const lost = await missing();
  if (lost.length > 0) throw new Error(`not stored: ${lost.join(", ")}`);
}

let first = false;

// A browser that can (Service Workers, static routing) answers from this version's cache without waking the worker. What is not
// in there, and every other address of the start page, goes on to the worker or the network.
async function route(event) {
  if (!event.addRoutes) return;
  const pathname = (path) => new URL(path, SCOPE).pathname.replace(/[\\+*?:{}()]/g, "\\$&");
  const listed = Object.keys(FILES).map((path) => ({ urlPattern: new URLPattern({ pathname: pathname(path), search: "" }) }));
  await event.addRoutes([{ condition: { or: listed }, source: { cacheName: CACHE } }]);
}

self.addEventListener("install", (event) => {
  first = !self.registration.active;
  route(event).catch(() => {}); // the worker answers then
  event.waitUntil(fill());
});

self.addEventListener("activate", (event) => {
  const tidy = async () => {
    await Promise.all((await otherVersions()).map((name) => caches.delete(name)));
    // Only a page that had no worker before is taken over; others came from an older version and stay with it.
    if (first) await self.clients.claim();
  };
  event.waitUntil(tidy());
});

/** The listed file that answers a request, as an address, or null where the network is to answer. */
function listedFor(request) {
  if (request.method !== "GET") return null;
  const url = new URL(request.url);
  if (url.origin !== SCOPE.origin) return null;
  const start = url.pathname === SCOPE.pathname || url.pathname === `${SCOPE.pathname}index.html`;
  if (request.mode === "navigate" && start) return address("./");
  url.hash = "";
  return LISTED.has(url.href) ? url.href : null;
}

self.addEventListener("fetch", (event) => {
  const listed = listedFor(event.request);
  if (!listed) return;
  const answer = async () => (await stored(listed)) ?? fetch(event.request);
  event.respondWith(answer());
});

async function verify() {
  const lost = await missing();
  // While another version is on its way in, this one must not write: its cache may be about to go.
  const { installing, waiting } = self.registration;
  if (lost.length === 0 || installing || waiting || !(await caches.has(CACHE))) return lost.length === 0;
  return fill().then(() => true, () => false);
}

self.addEventListener("message", (event) => {
  if (event.data?.type === "apply") self.skipWaiting();
  if (event.data?.type === "verify") {
    const answer = (ok) => event.ports[0]?.postMessage({ ok, version: VERSION });
    event.waitUntil(verify().then(answer, () => answer(false)));
  }
});
