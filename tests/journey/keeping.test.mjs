// What is typed is kept: over a killed browser, beside another tab, and beside jobs that cannot be read.

import assert from "node:assert/strict";
import { test } from "node:test";
import { demoInTwoTabs, enter, holdVolts, jobOf, kept, onScreen, openCard, openDemo, primary, type } from "./app.mjs";
import { ownChromium } from "./kill.mjs";
import { Site, afterwards, openBrowser, tempDir, until, untilDrawn, visit } from "./lib.mjs";

test("a browser killed a second after an edit has kept it", async (t) => {
  const site = await Site.start(t);
  const profile = tempDir(t);
  const one = await ownChromium(profile);
  afterwards(t, one.kill);
  const page = await visit(one.context, site.url);
  await openDemo(page, "Lark");
  await openCard(page, "ohms");
  // A first write, so that the browser delays the next ones to its slower store.
  await type(page, "Ohms, wire H to wire L", "1");
  await page.waitForTimeout(700);
  await type(page, "Ohms, wire H to wire L", "60.4 and a half-typed thought");
  await page.waitForTimeout(1000);
  const address = page.url();
  await one.kill();

  const two = await ownChromium(profile);
  afterwards(t, two.kill);
  const again = await visit(two.context, address);
  await again.locator(".page-card").waitFor();
  assert.equal(await again.getByLabel("Ohms, wire H to wire L").inputValue(), "60.4 and a half-typed thought");
});

test("jobs that are broken or newer are set aside and never written over", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, site.url);
  const texts = { broken: '{"v":1,"rev":3,"job":', newer: '{"v":99,"rev":1,"from":"the future"}' };
  await page.evaluate((texts) => {
    for (const [key, text] of Object.entries(texts)) localStorage.setItem(`ohms.job.${key}`, text);
  }, texts);
  await page.goto(`${site.url}#/jobs`);
  await page.reload();
  await untilDrawn(page);
  await page.getByText("cannot be read").waitFor();
  await page.getByText("made by a newer version").waitFor();
  // Work goes on beside them.
  await openDemo(page, "Lark");
  await openCard(page, "ohms");
  await type(page, "Ohms, wire H to wire L", "60");
  await page.waitForTimeout(600);
  const { local } = await kept(page);
  assert.equal(local.broken, texts.broken);
  assert.equal(local.newer, texts.newer);
  assert.equal(Object.keys(local).length, 3);
});

test("a job is in both stores, and either alone brings it back", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, site.url);
  await openDemo(page, "Lark");
  const job = page.url().match(/#\/job\/([^/]+)/)[1];
  await page.waitForTimeout(700);
  const { local, mirror } = await kept(page);
  assert.equal(local[job], mirror[job]);
  await page.evaluate(() => localStorage.clear());
  await page.reload();
  await untilDrawn(page);
  await onScreen(page, "Lark");
  assert.ok((await kept(page)).local[job], "the first store is brought up to the second");
  // And the other way round, with the mirror gone.
  await page.goto("about:blank");
  const other = await browser.newPage();
  await other.goto(`${site.url}manifest.webmanifest`);
  await other.evaluate(() => new Promise((done) => { indexedDB.deleteDatabase("ohms").onsuccess = done; }));
  await other.close();
  await page.goto(`${site.url}#/job/${job}`);
  await untilDrawn(page);
  await onScreen(page, "Lark");
});

test("two tabs on one job: nothing is written over", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const { one, two, job } = await demoInTwoTabs(browser, site);
  await one.evaluate((hash) => { location.hash = hash; }, `#/job/${job}/notes`);
  await onScreen(one, "Notes");
  await onScreen(two, "Notes");
  // Both have typed before either writes: the clocks stand still meanwhile, however busy the machine is.
  for (const page of [one, two]) {
    await page.clock.install();
    await page.clock.pauseAt(Date.now() + 60_000);
  }
  await type(one, "Notes for the next person", "from one");
  await type(two, "Notes for the next person", "from two");
  for (const page of [one, two, one, two]) await page.clock.runFor(400);
  await until(one, () => Object.keys(localStorage).filter((key) => key.startsWith("ohms.job.")).length === 2);
  const notes = Object.values((await kept(one)).local).map((text) => JSON.parse(text).job.notes).sort();
  assert.deepEqual(notes, ["from one", "from two"]);
});

test("a field that is open in another tab follows", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const one = await visit(browser, site.url);
  await openDemo(one, "Lark");
  const job = one.url().match(/#\/job\/([^/]+)/)[1];
  await one.evaluate((hash) => { location.hash = hash; }, `#/job/${job}/notes`);
  await onScreen(one, "Notes");
  await one.waitForTimeout(600);
  const two = await visit(browser, `${site.url}#/job/${job}/notes`);
  await type(one, "Notes for the next person", "seen by both");
  await until(two, () => document.querySelector("#notes").value === "seen by both");
});

test("a card that leaves the site while it is open shows the job as it is now", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const one = await visit(browser, site.url);
  await openDemo(one, "Lark");
  const job = jobOf(one);
  // On 15 m the monitor's end alone cannot tell which terminator is missing (as in tests/lark.rs): the other end is asked for.
  await one.evaluate((hash) => { location.hash = hash; }, `#/job/${job}/site/leads`);
  await type(one, "Length of that lead", "15");
  await holdVolts(one);
  await openCard(one, "ohms");
  await enter(one, { "Ohms, wire H to wire L": "119.8" });
  await one.locator(".finding-fails").waitFor();
  await one.waitForTimeout(600);
  const two = await visit(browser, `${site.url}#/job/${job}/card/ohms-other-end`);
  await two.locator(".page-card .bs-suspect").first().waitFor();
  await enter(one, { "Ohms, wire H to wire L": "60.3" });
  await one.locator(".finding-holds").waitFor();
  await until(two, () => !document.querySelector(".bs-suspect"));
  // It stays until it is left: a reading can still be taken on it.
  await two.locator(".page-card").waitFor();
  await type(two, "Ohms, wire H to wire L", "60.4");
  await primary(two).click();
  await two.locator(".finding-holds").waitFor();
});
