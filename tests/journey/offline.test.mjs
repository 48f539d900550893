// Working without a signal. "Offline" is always a server that was stopped, never a flag in the browser.

import assert from "node:assert/strict";
import { copyFileSync, rmSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { root } from "../../tools/paths.mjs";
import {
  Site, copyOfDist, listOf, lookForNew, markOf, nextVersion, offline, openBrowser, storedIn, tempDir, troubles, until, untilDrawn,
  untilOffline, visit,
} from "./lib.mjs";

const built = listOf();
const cacheName = (version, path = "/") => `ohms-${version}@${path}`;
const pause = (ms) => new Promise((done) => setTimeout(done, ms));

/** What a cache must hold to be this version, whole. */
const whole = (site, files = built.files) =>
  Object.fromEntries(Object.entries(files).map(([path, hash]) => [new URL(path, site.url).href, hash]));

/** Answers with a body that is not the file's. */
const spoil = (wanted) => (request, response, name) => {
  if (name !== wanted) return false;
  response.writeHead(200, { "Content-Type": "image/png", "Cache-Control": "no-store" }).end("not that file");
  return true;
};

test("a first visit says ready only when every file is stored", async (t) => {
  const held = [];
  let hold = true;
  const site = await Site.start(t, {
    intercept: (request, response, name) => {
      if (!hold || name !== "icons/maskable-512.png") return false;
      held.push(response);
      return true;
    },
  });
  const browser = await openBrowser(t);
  const page = await browser.newPage();
  const wrong = troubles(page);
  await page.addInitScript(() => {
    window.told = [];
    window.addEventListener("ohms-offline", (event) => window.told.push(event.detail.state));
  });
  await page.goto(site.url);
  await untilDrawn(page);

  while (held.length === 0) await pause(20);
  await pause(500);
  assert.equal((await offline(page)).state, "storing", "one file is still missing");

  // The connection breaks: nothing was promised. The next visit takes up where this one stopped.
  hold = false;
  for (const response of held) response.writeHead(503).end();
  await untilOffline(page, "failed");
  site.forget();
  await page.reload();
  assert.deepEqual(await untilOffline(page, "ready"), { state: "ready", version: built.version });
  assert.equal(site.count("icons/apple-touch-icon.png"), 0, "what was stored is not fetched again");

  assert.deepEqual(await page.evaluate(() => window.told), ["ready"]);
  assert.deepEqual(await storedIn(page), { [cacheName(built.version)]: whole(site) });
  assert.deepEqual(wrong.filter((text) => !text.includes("net::ERR")), []);
});

test("on a first visit no large file is sent twice", async (t) => {
  const site = await Site.start(t);
  const page = await visit(await openBrowser(t), site.url);
  await untilOffline(page, "ready");
  const hashed = Object.keys(built.files).filter((path) => /-[0-9a-f]{16}\./.test(path));
  // Style, start script, glue, wasm in four parts, and the content in two languages of two parts each.
  assert.equal(hashed.length, 11);
  for (const path of hashed) assert.equal(site.count(path.slice(2)), 1, path);
});

// The last path has signs that mean something in the patterns of static routes.
for (const base of ["/", "/sub/", "/a+b(1)/"]) {
  test(`without a server the app starts from ${base}`, async (t) => {
    const site = await Site.start(t, { base });
    const profile = tempDir(t);
    const browser = await openBrowser(t, profile);
    const page = await visit(browser, site.url);
    await untilOffline(page, "ready");
    assert.deepEqual(Object.keys(await storedIn(page)), [cacheName(built.version, base)]);

    await site.stop();
    await assert.rejects(fetch(site.url), "the server is really gone");
    await page.reload();
    await untilDrawn(page);
    await untilOffline(page, "ready");
    await browser.close();

    // Cold: a new browser process, as after the phone was off; a link with a query; the page by its full name.
    const later = await openBrowser(t, profile);
    for (const address of ["", "?from=a-link#/anything", "index.html"]) {
      const tab = await visit(later, site.url + address);
      // Chromium knows static routes (Service Workers, 2.4): the start page comes without the worker.
      const from = await tab.evaluate(() => performance.getEntriesByType("navigation")[0].workerFinalSourceType);
      if (address === "") assert.equal(from, "cache");
      assert.deepEqual(await untilOffline(tab, "ready"), { state: "ready", version: built.version });
    }
  });
}

test("only the app's own addresses are answered from the store", async (t) => {
  const site = await Site.start(t);
  const page = await visit(await openBrowser(t), site.url);
  await untilOffline(page, "ready");
  const answer = await page.goto(`${site.url}another-app/`);
  assert.equal(answer.status(), 404, "another path on this host is the server's to answer");
});

test("half an update leaves the old version whole", async (t) => {
  const site = await Site.start(t);
  const next = nextVersion(t, "next");
  const page = await visit(await openBrowser(t), site.url);
  await untilOffline(page, "ready");

  // The server dies when the worker asks for the new start page; the new style sheet is stored by then.
  site.forget();
  await site.change({
    dir: next.folder,
    intercept: (request, response, name) => {
      if (name !== "" || request.headers["sec-fetch-dest"] !== "empty") return false;
      site.stop();
      return true;
    },
  });
  assert.equal(await lookForNew(page), "redundant");
  assert.equal(site.count(next.style), 1, "the update was half done");

  assert.deepEqual((await storedIn(page))[cacheName(built.version)], whole(site));
  await page.reload();
  await untilDrawn(page);
  assert.deepEqual(await untilOffline(page, "ready"), { state: "ready", version: built.version });
  assert.equal(await markOf(page), "");

  // With the signal back, the rest is fetched and only the rest.
  site.forget();
  await site.start({ intercept: undefined });
  assert.equal(await lookForNew(page), "installed");
  await untilOffline(page, "update");
  assert.deepEqual(site.requests.map(({ name }) => name).sort(), ["", "sw.js"]);
  assert.deepEqual((await storedIn(page))[cacheName(next.version)], whole(site, listOf(next.folder).files));
});

test("a new version is announced, and taken only in the tab that asks", async (t) => {
  const site = await Site.start(t);
  const next = nextVersion(t, "next");
  const browser = await openBrowser(t);
  const asking = await visit(browser, site.url);
  await untilOffline(asking, "ready");
  const other = await visit(browser, site.url);
  await untilOffline(other, "ready");
  const foreign = ["theirs-1", cacheName("0123456789abcdef", "/elsewhere/")];
  await asking.evaluate((names) => Promise.all(names.map((name) => caches.open(name))), foreign);
  await other.evaluate(() => (window.untouched = true));

  await site.change({ dir: next.folder });
  site.forget();
  await asking.reload();
  assert.deepEqual(await untilOffline(asking, "update"), { state: "update", version: built.version });
  await untilOffline(other, "update");
  assert.equal(site.count("icons/icon-512.png"), 0, "unchanged files are taken over, not fetched");

  await asking.reload();
  await untilOffline(asking, "update");
  assert.equal(await markOf(asking), "", "a reload alone changes no version");

  await asking.evaluate(() => window.ohmsApplyUpdate());
  await asking.waitForFunction(() => document.querySelector("meta[name=mark]")?.content === "next");
  assert.deepEqual(await untilOffline(asking, "ready"), { state: "ready", version: next.version });
  assert.deepEqual(Object.keys(await storedIn(asking)).sort(), [...foreign, cacheName(next.version)].sort());

  assert.equal(await other.evaluate(() => window.untouched), true, "the other tab was not loaded anew");
  assert.equal((await offline(other)).state, "update");
  await other.evaluate(() => window.ohmsApplyUpdate());
  await other.waitForFunction(() => document.querySelector("meta[name=mark]")?.content === "next");
  await untilOffline(other, "ready");
});

test("a file with another body is refused on a first visit", async (t) => {
  const site = await Site.start(t, { intercept: spoil("icons/icon-512.png") });
  const page = await visit(await openBrowser(t), site.url);
  await untilOffline(page, "failed");
  assert.equal(await page.evaluate(async () => (await navigator.serviceWorker.getRegistration())?.active ?? null), null);
  assert.ok(!JSON.stringify(await storedIn(page)).includes("icon-512.png"));

  await site.change({ intercept: undefined });
  await page.reload();
  await untilOffline(page, "ready");
});

test("a file with another body is refused in an update", async (t) => {
  const site = await Site.start(t);
  const next = nextVersion(t, "next");
  const page = await visit(await openBrowser(t), site.url);
  await untilOffline(page, "ready");

  await site.change({ dir: next.folder, intercept: spoil(next.style) });
  site.forget();
  assert.equal(await lookForNew(page), "redundant");
  assert.ok(site.count(next.style) > 0, "the worker asked for it");
  assert.deepEqual(await untilOffline(page, "ready"), { state: "ready", version: built.version });
  await site.stop();
  await page.reload();
  await untilDrawn(page);
  assert.equal(await markOf(page), "");
});

test("a file lost from the store is noticed, and fetched again when it can be", async (t) => {
  const site = await Site.start(t);
  const page = await visit(await openBrowser(t), site.url);
  await untilOffline(page, "ready");
  const lost = `${site.url}icons/icon-192.png`;
  await page.evaluate(
    async ([name, address]) => (await caches.open(name)).delete(address),
    [cacheName(built.version), lost],
  );

  await site.stop();
  await page.reload();
  await untilDrawn(page);
  await untilOffline(page, "failed");

  await site.start();
  await page.reload();
  await untilOffline(page, "ready");
  assert.deepEqual(await storedIn(page), { [cacheName(built.version)]: whole(site) });
});

test("an app left open looks for a new version, at most hourly", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  await browser.addInitScript(() => {
    const now = Date.now;
    window.later = 0;
    Date.now = () => now() + window.later;
    // The browser may put off the request itself, so what is counted is the asking.
    const { update } = ServiceWorkerRegistration.prototype;
    window.looks = 0;
    ServiceWorkerRegistration.prototype.update = function () {
      window.looks += 1;
      return update.call(this);
    };
  });
  const page = await visit(browser, site.url);
  await untilOffline(page, "ready");
  const returnAfter = (minutes) =>
    page.evaluate((ms) => {
      window.later += ms;
      document.dispatchEvent(new Event("visibilitychange"));
      return window.looks;
    }, minutes * 60_000);
  assert.equal(await returnAfter(59), 0);
  assert.equal(await returnAfter(2), 1);
  assert.equal(await returnAfter(59), 1);
  assert.equal(await returnAfter(2), 2);
});

test("the way out removes the worker and its store, and nothing else", async (t) => {
  const site = await Site.start(t);
  const page = await visit(await openBrowser(t), site.url);
  await untilOffline(page, "ready");
  await page.evaluate(async () => {
    localStorage.setItem("ohms.kept", "a job");
    await caches.open("theirs-1");
  });

  const off = copyOfDist(t);
  for (const sibling of ["sw.js.br", "sw.js.gz"]) rmSync(join(off, sibling));
  copyFileSync(join(root, "public", "sw-off.js"), join(off, "sw.js"));
  await site.change({ dir: off });
  await lookForNew(page);
  await until(page, async () => (await navigator.serviceWorker.getRegistrations()).length === 0);
  assert.deepEqual(Object.keys(await storedIn(page)), ["theirs-1"]);

  // The next visit comes from the server, works, and claims nothing.
  site.forget();
  await page.reload();
  await untilDrawn(page);
  assert.equal(site.requests.filter(({ dest }) => dest === "document").length, 1);
  await untilOffline(page, "failed");
  await until(page, async () => (await navigator.serviceWorker.getRegistrations()).length === 0);
  assert.deepEqual(Object.keys(await storedIn(page)), ["theirs-1"]);
  assert.equal(await page.evaluate(() => localStorage.getItem("ohms.kept")), "a job");
});
