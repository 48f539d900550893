// German and English, metres and feet: as the phone is set, or as chosen; without a signal too.

import assert from "node:assert/strict";
import { test } from "node:test";
import { go, onScreen, openDemo, touch } from "./app.mjs";
import { Site, axe, openBrowser, troubles, untilDrawn, untilOffline, visit } from "./lib.mjs";

test("a German phone is spoken to in German, with a decimal comma, without a signal", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t, undefined, { locale: "de-AT" });
  const page = await visit(browser, site.url);
  const trouble = troubles(page);
  await untilOffline(page, "ready");
  await site.stop();
  await page.reload();
  await untilDrawn(page);
  assert.equal(await page.evaluate(() => document.documentElement.lang), "de");
  await page.getByRole("link", { name: "Aufträge", exact: true }).click();
  await onScreen(page, "Aufträge");
  await touch(page, "Lark");
  const job = page.url().match(/#\/job\/([^/]+)/)[1];
  await go(page, `#/job/${job}/card/volts`);
  await page.locator(".ask input").nth(2).waitFor();
  for (const [index, text] of ["0,001", "0,02", "0,01"].entries()) await page.locator(".ask input").nth(index).fill(text);
  await page.locator(".foot .primary").click();
  await page.locator(".finding").nth(2).waitFor();
  await go(page, `#/job/${job}/card/ohms`);
  await page.locator(".ask input").first().fill("60,4");
  await page.locator(".foot .primary").click();
  await page.locator(".finding").first().waitFor();
  assert.match(await page.locator(".finding").first().innerText(), /60,4\sΩ/);
  await go(page, `#/job/${job}/record`);
  await page.locator(".record, main table, main h2").first().waitFor();
  // Published sources keep their own titles.
  const said = await page.locator("main").evaluate((main) => {
    const shown = main.cloneNode(true);
    shown.querySelectorAll(".sources").forEach((list) => list.remove());
    return shown.textContent;
  });
  assert.match(said, /60,4\sΩ/);
  assert.doesNotMatch(said, /\b(the|and|with|without|reading)\b/i, "English on a German page");
  assert.deepEqual(await axe(page), []);
  // The other language was stored too: chosen without a signal.
  await go(page, "#/about");
  await page.getByText("English", { exact: true }).click();
  await page.getByRole("heading", { name: "About this app" }).waitFor();
  assert.equal(await page.evaluate(() => document.documentElement.lang), "en");
  assert.deepEqual(trouble, []);
});

test("feet are kept as feet, whoever opens the job", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t, undefined, { locale: "en-US", timezoneId: "America/Denver" });
  const page = await visit(browser, site.url);
  await openDemo(page, "Lark");
  const job = page.url().match(/#\/job\/([^/]+)/)[1];
  await go(page, `#/job/${job}/site/leads`);
  const field = page.getByLabel("Length of that lead", { exact: true });
  await field.fill("10");
  assert.equal(await field.inputValue(), "10");
  await go(page, `#/job/${job}/site`);
  await page.getByText("10 ft", { exact: false }).first().waitFor();
  await page.waitForTimeout(600);
  await go(page, "#/about");
  await page.getByText("m, °C, mm²").click();
  await untilDrawn(page);
  await page.getByRole("heading", { name: "About this app" }).waitFor();
  await go(page, `#/job/${job}/site/leads`);
  await onScreen(page, "Leads");
  assert.equal(await page.getByLabel("Length of that lead", { exact: true }).inputValue(), "10 ft");
  await go(page, `#/job/${job}/site`);
  await page.getByText("3.05 m", { exact: false }).first().waitFor();
});

test("two ends that go together, and two that do not", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, site.url);
  await go(page, "#/measure/together");
  await page.getByRole("button", { name: "Broad 48-100, Window 2: goes" }).click();
  await page.getByText("crossing", { exact: false }).first().waitFor();
  await page.getByRole("button", { name: "Shelf 48-50, Window 2: does not go" }).click();
  await page.getByText("They speak no protocol at the same bit rate.").first().waitFor();
});

test("a card leads on where all is not well, and guides are found by a word", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, site.url);
  await openDemo(page, "Lark");
  const job = page.url().match(/#\/job\/([^/]+)/)[1];
  await go(page, `#/job/${job}/card/data-source`);
  await page.locator(".if-not").click();
  await onScreen(page, "Find the fault");
  await page.locator(".find-now h2").first().waitFor();
  await go(page, "#/read");
  await page.getByLabel("What are you looking for?").fill("captur");
  await page.waitForFunction(() => document.querySelectorAll("main .rows li").length < 4);
  await touch(page, "Reading a capture");
  await onScreen(page, "Reading a capture");
});
