// The bank's numbers inside a job: entered module by module, kept with it, judged in its checks, told in its record.

import assert from "node:assert/strict";
import { test } from "node:test";
import { describeLark, kept, onScreen, touch } from "./app.mjs";
import { Site, axe, openBrowser, troubles, visit } from "./lib.mjs";

const put = (page, id, text) => page.locator(`[id="${id}"]`).fill(text);
const segment = (page, group, key) => page.locator(`#${group} input[value="${key}"]`).check({ force: true });
const said = (page, selector) => page.locator(selector).innerText().then((text) => text.replaceAll("\u00a0", " "));

test("module by module in a job: starts from the site, explains the display, stays, and stands in the record", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, site.url);
  const trouble = troubles(page);
  await describeLark(page);
  const job = page.url().match(/#\/job\/([^/]+)/)[1];
  await touch(page, "The bank's numbers");
  await onScreen(page, "The bank's numbers");
  // The site's arrangement and plate are there before anything is typed.
  assert.match(await said(page, "main .rows"), /Plain 12-230: 1 in series, 3 side by side/);
  assert.match(await said(page, ".headline"), /690 Ah/);
  await put(page, "soh", "100");
  await segment(page, "way", "singly");
  await put(page, "m1-soc", "80");
  await put(page, "m1-voltage", "13.3");
  await page.getByText("Answers? Holds off?").click();
  await segment(page, "m1-answers", "yes");
  for (const n of [2, 3]) {
    await touch(page, "Next module");
    await page.getByRole("heading", { name: `Module ${n} of 3` }).waitFor();
    await touch(page, "Same as above");
    assert.equal(await page.locator(`#m${n}-soc`).inputValue(), "80");
    assert.equal(await page.locator(`#m${n}-answers input[value=yes]`).isChecked(), true);
  }
  assert.match(await said(page, ".headline"), /552 Ah/);
  // The display is one module short: the likeliest cause, and the check that tells.
  for (const [id, text] of Object.entries({ "shown-modules": "2", "shown-capacity": "460", "shown-charge": "368", "shown-soc": "80" })) {
    await put(page, id, text);
    await page.locator(`[id="${id}"]`).blur();
  }
  await page.locator(".causes-box.finding-fails").waitFor();
  assert.match(await said(page, ".causes-box li:first-child"), /silent on the bus[\s\S]*The check that tells: Count the modules/i);
  // What is asked of the chargers, against the site's own limits.
  await put(page, "asked-current", "5000");
  await page.locator(".bank-chargers .badge-fails").waitFor();
  await put(page, "asked-voltage", "14.2");
  await put(page, "asked-current", "40");
  await page.locator(".bank-chargers .badge-holds").waitFor();
  // A text that cannot be read stays, and is kept.
  await put(page, "m3-temperature", "warm");
  assert.match(await said(page, "#m3-temperature-error"), /\.$/);
  assert.deepEqual(await axe(page), []);

  await page.evaluate((hash) => { location.hash = hash; }, `#/job/${job}/record`);
  await onScreen(page, "Record");
  const record = (await page.locator("main").innerText()).replaceAll("\u00a0", " ");
  for (const text of ["The bank by its modules", "Module 2", "552 Ah", "460 Ah", "silent on the bus", "What is asked of the chargers", "14.2 V, 40 A"]) {
    assert.ok(record.includes(text), `the record lacks “${text}”`);
  }
  assert.deepEqual(await axe(page), []);

  await page.waitForTimeout(600);
  const { local } = await kept(page);
  const texts = JSON.parse(local[job]).job;
  assert.equal(texts.bank["m3-temperature"], "warm");
  assert.equal(texts.bank["m2-soc"], "80");
  assert.equal(texts.observations.filter((one) => one.of.check?.startsWith?.("shown-")).length, 4);
  await page.reload();
  await page.evaluate((hash) => { location.hash = hash; }, `#/job/${job}/bank`);
  await onScreen(page, "The bank's numbers");
  assert.equal(await page.locator("#m1-soc").inputValue(), "80");
  assert.equal(await page.locator("#shown-capacity").inputValue(), "460");
  // Emptied: it no longer counts.
  for (const id of ["shown-modules", "shown-capacity", "shown-charge"]) {
    await put(page, id, "");
    await page.locator(`[id="${id}"]`).blur();
  }
  await page.locator(".causes-box.finding-holds").waitFor();
  assert.deepEqual(trouble, []);
});
