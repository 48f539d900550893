// The way out. If a worker with a fault was ever published, publish this file under the name sw.js instead:
// it takes over at once, deletes what the worker stored and unregisters. It answers no request, so the app then
// comes from the server as any page does. Jobs and settings are not touched.

const SCOPE = new URL(self.registration.scope);
const NAME = /^ohms-([0-9a-f]+)@(.*)$/;

// Asked for once more a little later: a browser may drop the first request if the old worker was just then busy.
self.addEventListener("install", (event) => {
  event.waitUntil(self.skipWaiting());
  setTimeout(() => self.skipWaiting(), 2000);
});

self.addEventListener("activate", (event) => {
  const leave = async () => {
    const own = (await caches.keys()).filter((name) => NAME.exec(name)?.[2] === SCOPE.pathname);
    await Promise.all(own.map((name) => caches.delete(name)));
    await self.registration.unregister();
  };
  event.waitUntil(leave());
});

self.addEventListener("message", (event) => {
  if (event.data?.type === "apply") self.skipWaiting();
  if (event.data?.type === "verify") event.ports[0]?.postMessage({ ok: false, version: "" });
});
