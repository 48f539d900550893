// About: what is stored is counted, not claimed; the licences of what is in the app; an error is reported without any of a job.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { root } from "../../tools/paths.mjs";
import { go } from "./addresses.mjs";
import { onScreen, openCard, openDemo, enter, touch, type } from "./app.mjs";
import { Site, axe, listOf, openBrowser, troubles, untilDrawn, untilOffline, visit } from "./lib.mjs";

/** A term of the list of what is stored, as { term: text }. */
const facts = (page) =>
  page.locator(".page-about .facts > div").evaluateAll((rows) => Object.fromEntries(rows.map((row) => [row.querySelector("dt").innerText, row.querySelector("dd").innerText])));

test("what is stored is what the browser holds", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, site.url);
  const trouble = troubles(page);
  const { version } = await untilOffline(page, "ready");
  await go(page, "#/about");
  const { files } = listOf();
  await page.getByText(`${Object.keys(files).length} files of the app`).waitFor();
  const told = await facts(page);
  assert.match(told.App, new RegExp(`^0\\.\\d+\\.\\d+ · ${version}$`));
  const [, day] = readFileSync(join(root, "content", "edition.toml"), "utf8").match(/^date = "(.+)"$/m);
  const said = new Date(`${day}T00:00:00Z`).toLocaleDateString("en-GB", { day: "numeric", month: "long", year: "numeric", timeZone: "UTC" });
  assert.equal(told["Content as of"], said);
  const used = await page.evaluate(() => navigator.storage.estimate().then(({ usage }) => usage / 1e6));
  const [, shown] = told["On this phone"].match(/([\d.]+) MB in use/);
  assert.ok(Math.abs(Number(shown) - used) < 0.5, `${shown} MB shown, ${used} MB in use`);
  assert.equal(told.Jobs, "0 of your own");
  assert.equal(told.Packs, "0 packs of others");
  assert.equal(told["The two copies"], "Both copies can be written and read.");
  assert.match(told.Promise, /The browser is asked/);
  assert.deepEqual(trouble, []);
});

test("without a signal: licences with their texts, and lines that hold nothing of a job", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t, undefined, { permissions: ["clipboard-read", "clipboard-write"] });
  const page = await visit(browser, site.url);
  await untilOffline(page, "ready");
  // A job with names, notes and readings that would be known again.
  await touch(page, "Begin a job");
  await onScreen(page, "Name");
  await type(page, "Name of the site", "Quillfeather Wharf");
  await openDemo(page, "Lark");
  await openCard(page, "volts");
  await enter(page, { "Volts, wire H to wire L": "1.2345", "Volts, wire H to reference": "2.5021", "Volts, wire L to reference": "2.4987" });
  await page.waitForTimeout(600);
  await site.stop();
  await page.reload();
  await untilDrawn(page);

  // An error whose text would give a name and a reading away.
  await page.evaluate(() => { setTimeout(() => { throw new Error('cannot read "Otter" of Quillfeather Wharf at 2.5021 V'); }); });
  await page.waitForFunction(() => localStorage["ohms.error"]);
  await go(page, "#/about");
  await page.getByText("Report an error").waitFor();
  await page.waitForFunction(() => document.querySelector(".report-text").innerText.includes("Last error"));
  await page.getByRole("button", { name: "Copy the lines" }).click();
  await page.getByText("The lines are on the clipboard.").waitFor();
  const lines = await page.evaluate(() => navigator.clipboard.readText());
  assert.equal(lines, await page.locator(".report-text").innerText());
  for (const secret of ["Quillfeather", "Wharf", "Lark", "Otter", "1.2345", "2.5021", "2.4987"]) {
    assert.ok(!lines.includes(secret), `${secret} is told:\n${lines}`);
  }
  const { version } = listOf();
  const agent = await page.evaluate(() => navigator.userAgent);
  for (const part of [version, agent, "system, bare", "metric", "Both copies can be written and read.", "cannot read … of … at … V"]) {
    assert.ok(lines.includes(part), `${part} is missing:\n${lines}`);
  }
  for (const not of ["names of jobs, sites or people", "readings, notes, photos"]) await page.getByText(not, { exact: false }).waitFor();

  await touch(page, "Licences");
  await onScreen(page, "Licences");
  await page.locator(".licences .fold").first().waitFor();
  const listed = await page.locator(".licences .row-title").allInnerTexts();
  // What the manifest asks for is in it, what only tests and the build ask for is not.
  const manifest = readFileSync(join(root, "Cargo.toml"), "utf8");
  const section = (name) => [...manifest.split(`[${name}]`)[1].split("\n[")[0].matchAll(/^([a-z][\w-]*) = /gm)].map(([, crate]) => crate);
  const names = new Set(listed.map((title) => title.split(" ")[0]));
  const own = section("dependencies");
  assert.ok(own.length > 10 && own.includes("leptos"));
  for (const crate of own) assert.ok(names.has(crate), `${crate} is not among the licences`);
  for (const crate of ["proptest", "divan", "nalgebra", "rqrr", "schemars"]) {
    assert.ok(manifest.includes(`\n${crate} = `), `${crate} is no longer among the tests' own`);
    assert.ok(!names.has(crate), `${crate} is not in the app`);
  }
  const lock = readFileSync(join(root, "Cargo.lock"), "utf8");
  for (const title of listed.filter((title) => !title.startsWith("Rust standard"))) {
    const [crate, at] = title.split(" ");
    assert.ok(lock.includes(`name = "${crate}"\nversion = "${at}"`), `${title} is not locked`);
  }
  for (const title of ["serde ", "sixty-ohms "]) {
    const fold = page.locator(".licences .fold", { hasText: title }).first();
    await fold.locator("summary").click();
    assert.match(await fold.locator(".licence-text").last().innerText(), /Permission is hereby granted|Apache License/);
  }
  const texts = await page.evaluate(() => fetch("./licences.json").then((answer) => answer.json()));
  assert.ok(texts.packages.every(({ licence, texts }) => licence && texts.length > 0), "a package without licence or text");
  assert.deepEqual(await axe(page), []);
});

test("no report where there was no error, and the list of licences is not fetched before it is asked for", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, site.url);
  await untilOffline(page, "ready");
  await page.reload();
  await untilDrawn(page);
  await go(page, "#/about");
  await page.waitForFunction(() => document.querySelector(".report-text").innerText.includes("Last error: none caught"));
  // By the page itself: the worker stored it long ago.
  const fetched = () => page.evaluate(() => performance.getEntriesByType("resource").filter(({ name }) => name.endsWith("licences.json")).length);
  assert.equal(await fetched(), 0);
  await go(page, "#/licences");
  await page.locator(".licences .fold").first().waitFor();
  assert.equal(await fetched(), 1);
  // Neither copy nor signal: it is said, and the page stands.
  await page.evaluate(async () => { for (const name of await caches.keys()) await caches.delete(name); });
  await site.stop();
  await go(page, "#/about");
  await go(page, "#/licences");
  await page.getByText("The list could not be read.", { exact: false }).waitFor();
});

test("on an iPhone: the two touches are drawn in its own browser's tab, and nowhere else", async (t) => {
  const site = await Site.start(t);
  const phone = "Mozilla/5.0 (iPhone; CPU iPhone OS 17_5 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko)";
  for (const [userAgent, standalone, taps] of [
    [`${phone} Version/17.5 Mobile/15E148 Safari/604.1`, false, 2],
    [`${phone} Version/17.5 Mobile/15E148 Safari/604.1`, true, 0],
    [`${phone} CriOS/126.0.0.0 Mobile/15E148 Safari/604.1`, false, 0],
    [undefined, false, 0],
  ]) {
    const browser = await openBrowser(t, undefined, { userAgent });
    if (standalone) await browser.addInitScript(() => Object.defineProperty(navigator, "standalone", { value: true }));
    const page = await visit(browser, site.url);
    await go(page, "#/about");
    assert.equal(await page.locator(".taps li").count(), taps, `${userAgent}, ${standalone}`);
    if (taps) assert.match(await page.locator(".ios-hint").innerText(), /seven days/);
    await browser.close();
  }
});

test("the browser's own bar has the colour of the page, in every look and before anything is drawn", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t, undefined, { colorScheme: "light" });
  const page = await visit(browser, `${site.url}#/about`);
  /** The colour of the bar, and of the page, as the browser has them. */
  const colours = () => page.evaluate(() => {
    const bar = [...document.querySelectorAll("meta[name=theme-color]")].find((meta) => matchMedia(meta.media).matches);
    const probe = document.createElement("i");
    probe.style.color = bar.content;
    document.body.append(probe);
    const found = [getComputedStyle(probe).color, getComputedStyle(document.documentElement).backgroundColor];
    probe.remove();
    return found;
  });
  const seen = new Set();
  for (const look of ["light", "dark", "sun", "system"]) {
    await page.locator(`input[name="look"][value="${look}"]`).check({ force: true });
    for (const scheme of ["light", "dark"]) {
      await page.emulateMedia({ colorScheme: scheme });
      const [bar, paper] = await colours();
      assert.equal(bar, paper, `${look} on a phone set to ${scheme}`);
      seen.add(paper);
    }
    await page.reload();
    const [bar, paper] = await colours();
    assert.equal(bar, paper, `${look}, loaded anew`);
    await untilDrawn(page);
  }
  assert.equal(seen.size, 3, "paper, dark and white");
});
