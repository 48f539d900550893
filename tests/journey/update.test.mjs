// A new version comes at a bad moment: while somebody types, while the signal goes, while the phone is full, while two tabs hold
// the same job. "Offline" is always a server that was stopped. What offline.test.mjs shows of updates is not shown again here.

import assert from "node:assert/strict";
import { readFileSync, statSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { dist } from "../../tools/paths.mjs";
import { go, jobOf, kept, onScreen, openCard, openDemo, type } from "./app.mjs";
import { ownChromium } from "./kill.mjs";
import {
  Site, afterwards, listOf, lookForNew, markOf, nextVersion, offline, openBrowser, storedIn, tempDir, until, untilDrawn, untilOffline, visit,
} from "./lib.mjs";

const built = listOf();
const cacheOf = (version) => `ohms-${version}@/`;
const OHMS = "Ohms, wire H to wire L";
const NOTES = "Notes for the next person";

// One next version for all: putting it together takes longer than most of what is done with it.
let next;
const undo = [];
before(() => { next = nextVersion({ after: (step) => undo.push(step) }, "next"); });
after(async () => { for (const step of undo) await step(); });

const pause = (ms) => new Promise((done) => setTimeout(done, ms));

/** The old version, whole: its every file lies in its cache, and it starts with nobody listening. */
async function oldIsWhole(site, page) {
  const { [cacheOf(built.version)]: files } = await storedIn(page);
  assert.deepEqual(files, Object.fromEntries(Object.entries(built.files).map(([path, hash]) => [new URL(path, site.url).href, hash])));
  await site.stop();
  await page.reload();
  await untilDrawn(page);
  assert.deepEqual(await untilOffline(page, "ready"), { state: "ready", version: built.version });
  assert.equal(await markOf(page), "");
}

/** Sends the first half of a file, then the line goes dead. */
const cutOff = (site, folder, wanted, cut) => (request, response, name) => {
  if (name !== wanted || request.headers["sec-fetch-dest"] !== "empty") return false;
  cut.count += 1;
  const path = join(folder, name === "" ? "index.html" : name);
  response.writeHead(200, { "Content-Length": statSync(path).size, "Cache-Control": "no-store" });
  const bytes = readFileSync(path);
  response.write(bytes.subarray(0, bytes.length >> 1), () => site.stop());
  return true;
};

test("a new version while a field is half-typed: nothing moves until the person says so, and then nothing is lost", async (t) => {
  const site = await Site.start(t);
  const page = await visit(await openBrowser(t), site.url);
  await untilOffline(page, "ready");
  await openDemo(page, "Lark");
  await openCard(page, "ohms");
  await page.getByLabel(OHMS, { exact: true }).pressSequentially("60,");
  await page.evaluate(() => { window.untouched = true; });

  await site.change({ dir: next.folder });
  assert.equal(await lookForNew(page), "installed");
  await page.getByText("A new version is ready").waitFor();
  const field = page.getByLabel(OHMS, { exact: true });
  assert.equal(await field.inputValue(), "60,");
  assert.equal(await page.evaluate(() => document.activeElement.tagName), "INPUT", "the cursor stays in the field");
  // The person types on in the old version, as long as they like, and over a reload too.
  await page.keyboard.type("4 ab");
  assert.equal(await field.inputValue(), "60,4 ab");
  assert.equal(await page.evaluate(() => window.untouched), true);
  await page.waitForTimeout(600);
  await page.reload();
  await untilDrawn(page);
  await untilOffline(page, "update");
  assert.equal(await markOf(page), "", "a reload alone changes no version");
  assert.equal(await field.inputValue(), "60,4 ab");

  // The last key and the change over come in one breath: before the app's own moment to write.
  await field.focus();
  await page.keyboard.press("End");
  await page.keyboard.type("c");
  await page.getByRole("button", { name: "Change over now" }).click();
  await page.waitForFunction(() => document.querySelector("meta[name=mark]")?.content === "next" && document.querySelector("main h1"));
  assert.deepEqual(await untilOffline(page, "ready"), { state: "ready", version: next.version });
  await onScreen(page, "Measure ohms");
  assert.equal(await field.inputValue(), "60,4 abc");
  assert.equal(await page.getByText("A new version is ready").count(), 0);
});

test("a line that goes dead in the middle of a file of an update leaves the old version whole, over a killed browser too", async (t) => {
  const site = await Site.start(t);
  const profile = tempDir(t);
  const first = await ownChromium(profile);
  afterwards(t, first.kill);
  const page = await visit(first.context, site.url);
  await untilOffline(page, "ready");
  const cut = { count: 0 };
  await site.change({ dir: next.folder, intercept: cutOff(site, next.folder, next.style, cut) });
  assert.equal(await lookForNew(page), "redundant");
  assert.ok(cut.count > 0, "the update was half done");
  await oldIsWhole(site, page);
  await first.kill();

  const later = await ownChromium(profile);
  afterwards(t, later.kill);
  const again = await visit(later.context, site.url);
  assert.deepEqual(await untilOffline(again, "ready"), { state: "ready", version: built.version });
  await site.start({ intercept: undefined });
  assert.equal(await lookForNew(again), "installed");
  assert.deepEqual(await untilOffline(again, "update"), { state: "update", version: built.version });
});

test("a server that goes in the middle of the first install: nothing is promised, and the next visit takes it up", async (t) => {
  const cut = { count: 0 };
  const site = await Site.start(t);
  await site.change({ intercept: cutOff(site, dist, "icons/maskable-512.png", cut) });
  const profile = tempDir(t);
  let browser = await openBrowser(t, profile);
  let page = await visit(browser, site.url);
  await untilOffline(page, "failed");
  assert.ok(cut.count > 0, "the install had begun");
  // The app that is open goes on working, and says how it stands.
  await page.getByText("Not all of the app could be stored: it needs signal for now").waitFor();
  await openDemo(page, "Lark");
  await openCard(page, "ohms");
  await type(page, OHMS, "60,4");
  await page.waitForTimeout(600);
  await browser.close();
  browser = await openBrowser(t, profile);
  page = await browser.newPage();
  await assert.rejects(page.goto(site.url), "there is no half app");
  await page.close();

  site.forget();
  await site.start({ intercept: undefined });
  page = await visit(browser, site.url);
  await untilOffline(page, "ready");
  assert.equal(site.count("icons/apple-touch-icon.png"), 0, "what was stored is not fetched again");
  assert.equal(Object.keys((await kept(page)).local).length, 1, "the job is there");
});

test("a phone that is full while an update comes: the old version stays whole, the work goes on, and with room it comes", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, site.url);
  await untilOffline(page, "ready");
  await openDemo(page, "Lark");
  const job = jobOf(page);
  await go(page, `#/job/${job}/notes`);
  await onScreen(page, "Notes");

  const session = await browser.newCDPSession(page);
  const origin = new URL(site.url).origin;
  const { usage } = await session.send("Storage.getUsageAndQuota", { origin });
  // Room for a thousand bytes more: less than any file of an update.
  await session.send("Storage.overrideQuotaForOrigin", { origin, quotaSize: Math.ceil(usage) + 1000 });
  await assert.rejects(
    page.evaluate(async () => (await caches.open("try")).put("/try", new Response(new Uint8Array(1e6)))),
    /Quota/,
    "the store is really full",
  );
  await page.evaluate(() => caches.delete("try"));
  await site.change({ dir: next.folder });
  site.forget();
  assert.equal(await lookForNew(page), "redundant");
  assert.ok(site.count(next.style) > 0, "the update had begun");
  assert.deepEqual(await untilOffline(page, "ready"), { state: "ready", version: built.version });
  await type(page, NOTES, "typed while nothing fits");
  await until(page, () => Object.values(localStorage).some((text) => text.includes("typed while nothing fits")));
  await oldIsWhole(site, page);
  assert.equal(await page.inputValue("#notes"), "typed while nothing fits");

  await session.send("Storage.overrideQuotaForOrigin", { origin });
  await site.start();
  assert.equal(await lookForNew(page), "installed");
  assert.deepEqual(await untilOffline(page, "update"), { state: "update", version: built.version });
});

test("two versions in two tabs write to one job: no word that was shown as kept is lost", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const older = await visit(browser, site.url);
  await untilOffline(older, "ready");
  await openDemo(older, "Lark");
  const job = jobOf(older);
  await older.waitForTimeout(600);
  const newer = await visit(browser, `${site.url}#/job/${job}/notes`);
  await untilOffline(newer, "ready");
  await go(older, `#/job/${job}/notes`);
  await onScreen(older, "Notes");

  await site.change({ dir: next.folder });
  assert.equal(await lookForNew(newer), "installed");
  await untilOffline(newer, "update");
  await newer.getByRole("button", { name: "Change over now" }).click();
  await newer.waitForFunction(() => document.querySelector("meta[name=mark]")?.content === "next" && document.querySelector("#notes"));
  assert.deepEqual([await markOf(older), await markOf(newer)], ["", "next"]);
  assert.equal((await offline(older)).state, "update");

  const shown = [];
  const write = async (page, word) => {
    await page.evaluate((word) => {
      const field = document.querySelector("#notes");
      field.value += ` ${word}`;
      field.dispatchEvent(new Event("input", { bubbles: true }));
    }, word);
    await until(page, () => document.querySelector('.kept[data-kept="kept"]') !== null);
    shown.push(word);
  };
  // In turn, then both at once.
  for (let round = 0; round < 5; round += 1) {
    await write(older, `o${round}`);
    await write(newer, `n${round}`);
  }
  for (let round = 5; round < 15; round += 1) {
    await Promise.all([write(older, `o${round}`), pause(10 * round).then(() => write(newer, `n${round}`))]);
  }
  const { local, mirror } = await kept(newer);
  const words = [...Object.values(local), ...Object.values(mirror)].map((text) => JSON.parse(text).job.notes.split(" "));
  assert.deepEqual(shown.filter((word) => !words.some((all) => all.includes(word))), []);

  // The older tab changes over in its own time and finds everything.
  await older.getByRole("button", { name: "Change over now" }).click();
  await older.waitForFunction(() => document.querySelector("meta[name=mark]")?.content === "next" && document.querySelector("main h1"));
  const after = Object.values((await kept(older)).mirror).map((text) => JSON.parse(text).job.notes.split(" "));
  assert.deepEqual(shown.filter((word) => !after.some((all) => all.includes(word))), []);
});
