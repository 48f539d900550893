// Packs: opened, seen, kept, used without a signal, removed; broken ones; and the workbench where they are written.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { root } from "../../tools/paths.mjs";
import { choose, go, onScreen, touch, type } from "./app.mjs";
import { Site, axe, openBrowser, troubles, until, untilDrawn, untilOffline, visit } from "./lib.mjs";
import { sideways } from "./seen.mjs";

const HERON = join(root, "tests", "packs", "heron.json");
const text = readFileSync(HERON, "utf8");

async function toPacks(page) {
  await go(page, "#/packs");
  await onScreen(page, "Packs");
}

const openFile = (page, path) => page.locator('.page-packs input[type="file"]').setInputFiles(path);

async function paste(page, what) {
  await page.getByLabel("Paste a pack or its link").fill(what);
  await touch(page, "See what it brings");
}

const mistakes = (page) => page.locator(".mistakes > li").allInnerTexts();

/** What the database holds of packs, as { key: text }. */
const stored = (page) =>
  page.evaluate(async () => {
    const database = await new Promise((done, failed) => {
      const request = indexedDB.open("ohms-packs", 1);
      request.onupgradeneeded = () => request.result.createObjectStore("packs");
      request.onsuccess = () => done(request.result);
      request.onerror = () => failed(request.error);
    });
    const all = (request) => new Promise((done) => { request.onsuccess = () => done(request.result); });
    const store = database.transaction("packs").objectStore("packs");
    const [keys, values] = await Promise.all([all(store.getAllKeys()), all(store.getAll())]);
    database.close();
    return Object.fromEntries(keys.map((key, n) => [key, values[n]]));
  });

/** Puts texts into the database behind the app's back. */
const put = (page, texts) =>
  page.evaluate(async (texts) => {
    const database = await new Promise((done, failed) => {
      const request = indexedDB.open("ohms-packs", 1);
      request.onupgradeneeded = () => request.result.createObjectStore("packs");
      request.onsuccess = () => done(request.result);
      request.onerror = () => failed(request.error);
    });
    const transaction = database.transaction("packs", "readwrite");
    for (const [key, value] of Object.entries(texts)) transaction.objectStore("packs").put(value, key);
    await new Promise((done) => { transaction.oncomplete = done; });
    database.close();
    localStorage.setItem("ohms.packs", JSON.stringify("there"));
  }, texts);

/** A new job, up to the question for its modules. */
async function toModules(page, name) {
  await go(page, "#/jobs");
  await onScreen(page, "Jobs");
  await touch(page, "Begin a job");
  await onScreen(page, "Name");
  await type(page, "Name of the site", name);
  await touch(page, "Next");
  await onScreen(page, "Modules");
}

test("a pack is seen, kept, used without a signal, and removed without a trace", async (t) => {
  const site = await Site.start(t);
  const page = await visit(await openBrowser(t), site.url);
  const trouble = troubles(page);
  await untilOffline(page, "ready");
  await go(page, "#/keeping");
  await onScreen(page, "Keeping");
  await touch(page, "Packs");
  await onScreen(page, "Packs");
  await openFile(page, HERON);
  await page.locator(".preview", { hasText: "Example Heron Works Heron 150" }).waitFor();
  assert.deepEqual(await axe(page), []);
  for (const part of ["Lift the lid of module", "What the lamp of a Heron 150 says", "Lid open", "Creek 1"]) {
    assert.ok((await page.locator(".preview").innerText()).includes(part), part);
  }
  assert.deepEqual(await stored(page), {}, "nothing is kept before the person says so");
  await touch(page, "Keep it");
  await page.getByRole("status").filter({ hasText: "kept, and in use" }).waitFor();
  // It says so only once it is committed, and what lies there is what was opened.
  assert.deepEqual(await stored(page), { heron: text.trim() });
  assert.deepEqual(await axe(page), []);

  await site.stop();
  await page.reload();
  await untilDrawn(page);
  await go(page, "#/read/heron-lamp");
  await onScreen(page, "What the lamp of a Heron 150 says");
  await go(page, "#/alarms");
  await page.getByLabel("What the display shows").fill("lid not shut");
  await page.locator(".results .row-title", { hasText: "Lid open" }).waitFor();
  await toModules(page, "Heron's");
  await choose(page, "Module", "Heron 150");
  await type(page, "Modules or strings side by side", "2");
  await type(page, "Modules in series, in each string", "1");
  await touch(page, "Next");
  await onScreen(page, "Monitor");
  await choose(page, "Monitor", "Creek 1");
  const job = page.url().match(/#\/job\/([^/]+)/)[1];

  await toPacks(page);
  await page.locator("details.pack summary", { hasText: "Heron" }).click();
  await touch(page, "Remove");
  await page.getByRole("status").filter({ hasText: "removed" }).waitFor();
  await page.getByText("No pack is kept.").waitFor();
  assert.deepEqual(await stored(page), {});
  await page.reload();
  await untilDrawn(page);
  await go(page, "#/read");
  await onScreen(page, "Read");
  assert.equal(await page.getByText("What the lamp of a Heron 150 says").count(), 0);
  await toModules(page, "Another");
  assert.equal(await page.getByText("Heron 150").count(), 0);
  // The job keeps what it took from the pack.
  await go(page, `#/job/${job}/site`);
  await page.getByText("Heron 150").first().waitFor();
  assert.deepEqual(trouble, []);
});

test("what is wrong with a pack is said with its place, and nothing is kept", async (t) => {
  const site = await Site.start(t);
  const page = await visit(await openBrowser(t), `${site.url}#/packs`);
  const trouble = troubles(page);
  await paste(page, text.replace('"capacity-Ah": 150', '"capacity-Ah": "150"').replace('"order": 900', '"order": -1'));
  await page.getByText("2 mistakes keep it out. Nothing was changed.").waitFor();
  const found = await mistakes(page);
  assert.match(found[0], /Line 24, equipment\.modules\[0\]\.capacity-Ah/);
  assert.match(found[0], /expected a number/);
  assert.match(found[1], /guides\[0\]\.order/);
  assert.deepEqual(await axe(page), []);
  await paste(page, text.replace('"stop": "Stop and call if the lid is broken."', '"stop": ""'));
  await page.getByText("One mistake keeps it out.").waitFor();
  assert.match((await mistakes(page))[0], /alarms\[0\]\.stop/);
  // Markup is text, whatever it says.
  await paste(page, text.replace("Look whether a lead is pinched", "<img src=x onerror=alert(1)> Look").replace("What the lamp of", "<b>What</b> the lamp of"));
  await page.locator(".preview", { hasText: "<b>What</b> the lamp" }).waitFor();
  await touch(page, "Keep it");
  await page.getByRole("status").filter({ hasText: "kept, and in use" }).waitFor();
  await go(page, "#/alarms/heron-lid-open");
  await page.locator("main", { hasText: "<img src=x onerror=alert(1)> Look" }).waitFor();
  assert.equal(await page.locator("main img").count(), 0);
  // A link that lost a letter on the way.
  await go(page, "#kAQB7InBhY2siOiJ4In0AAAAAz");
  await page.getByRole("alert").filter({ hasText: "A part of the link is missing" }).waitFor();
  assert.deepEqual(trouble, []);
});

test("a small pack goes by link to another phone", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  await browser.grantPermissions(["clipboard-read", "clipboard-write"]);
  const page = await visit(browser, `${site.url}#/packs`);
  const small = JSON.parse(text);
  for (const part of ["steps", "guides", "alarms", "words", "sources"]) delete small[part];
  await paste(page, JSON.stringify(small));
  await touch(page, "Keep it");
  await page.getByRole("status").filter({ hasText: "kept, and in use" }).waitFor();
  await page.locator("details.pack summary").click();
  await touch(page, "Copy a link");
  await page.getByText("The link is copied.").waitFor();
  const link = await page.evaluate(() => navigator.clipboard.readText());
  assert.ok(link.startsWith(`${site.url}#k`) && link.length <= 4000, link);
  const other = await visit(await openBrowser(t), link);
  await other.locator(".preview", { hasText: "Heron 150" }).waitFor();
  await touch(other, "Keep it");
  await other.getByRole("status").filter({ hasText: "kept, and in use" }).waitFor();
  assert.deepEqual(Object.keys(await stored(other)), ["heron"]);
  await other.waitForFunction(() => location.hash === "#/packs");
});

test("a broken or newer pack in the store is set aside, and the app goes on", async (t) => {
  const site = await Site.start(t);
  const page = await visit(await openBrowser(t), site.url);
  const trouble = troubles(page);
  const newer = text.replace('"version": 1', '"version": 2');
  await put(page, { broken: text.slice(0, 900), heron: text, newer });
  await page.reload();
  await untilDrawn(page);
  await go(page, "#/read/heron-lamp");
  await onScreen(page, "What the lamp of a Heron 150 says");
  await toPacks(page);
  const aside = page.locator("details.pack.aside");
  await aside.first().waitFor();
  assert.equal(await aside.count(), 2);
  await aside.filter({ hasText: "newer than this app reads" }).waitFor();
  await aside.filter({ hasText: "this is no JSON" }).getByRole("button", { name: "Remove" }).click();
  await until(page, () => document.querySelectorAll("details.pack.aside").length === 1);
  assert.deepEqual(await stored(page), { heron: text, newer }, "what is set aside lies as it was");
  assert.deepEqual(trouble, []);
});

test("the workbench shows a mistake as it is typed, and the walkthrough of what is right", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t, undefined, { viewport: { width: 1400, height: 900 } });
  const page = await visit(browser, `${site.url}#/workbench`);
  const trouble = troubles(page);
  const field = page.getByLabel("The pack, as JSON");
  await field.fill("{ \"mine\": true }");
  await page.locator(".mistake", { hasText: "this is no pack" }).waitFor();
  await touch(page, "Begin with the example");
  await page.getByText("No mistake. It can be kept and given away.").waitFor();
  await touch(page, "Back to what stood here before");
  assert.equal(await field.inputValue(), "{ \"mine\": true }");
  await touch(page, "Begin with the example");
  await page.locator(".phone-card", { hasText: "Lift the lid of module 2" }).waitFor();
  await page.getByLabel("Modules side by side").selectOption("1");
  await page.locator(".phone-card", { hasText: "Lift the lid of module 2" }).waitFor({ state: "detached" });
  await page.getByLabel("Monitor").selectOption("window-2");
  await page.getByText("There is no path between these two").waitFor();
  await page.locator(".pair-none", { hasText: "They speak no protocol at the same bit rate." }).first().waitFor();
  assert.deepEqual(await axe(page), []);

  // A slip in the middle of the text: said with its place, which a touch leads to.
  const slip = text.replace('"coldest-charge-C": 2', '"coldest-charge-C": 200');
  await field.fill(slip);
  const mistake = page.locator(".mistake", { hasText: "equipment.modules[0].coldest-charge-C" });
  await mistake.waitFor();
  await mistake.click();
  const cursor = await field.evaluate((field) => field.value.slice(field.selectionStart, field.selectionStart + 18));
  assert.equal(cursor, '"coldest-charge-C"');
  assert.ok(await field.evaluate((field) => document.activeElement === field));
  await field.fill(slip.replace(": 200", ": 2").replace('"title": "Lid open"', '"title": ""'));
  await page.getByRole("heading", { name: "Texts that are missing" }).waitFor();
  await page.locator(".mistake", { hasText: "alarms[0].title" }).waitFor();
  assert.deepEqual(await axe(page), []);

  // What was typed is there again, and can be saved.
  const typed = await field.inputValue();
  await page.getByText("The text is kept on this device as you type.").waitFor();
  await page.reload();
  await untilDrawn(page);
  assert.equal(await field.inputValue(), typed);
  const coming = page.waitForEvent("download");
  await touch(page, "Save the file");
  assert.equal(readFileSync(await (await coming).path(), "utf8"), typed);
  for (const width of [390, 360]) {
    await page.setViewportSize({ width, height: 800 });
    assert.equal(await page.evaluate(sideways), 0, `sideways at ${width} px`);
  }
  assert.deepEqual(await axe(page), []);
  assert.deepEqual(trouble, []);
});
