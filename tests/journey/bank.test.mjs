// The bank's pages with the worked examples of the bank's reference (sections 1 to 3), and with hostile entries.

import assert from "node:assert/strict";
import { test } from "node:test";
import { onScreen, touch, type } from "./app.mjs";
import { Site, axe, openBrowser, troubles, until, visit } from "./lib.mjs";

async function open(t, hash) {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, `${site.url}#/measure/${hash}`);
  const trouble = troubles(page);
  return { page, trouble };
}

/** Types into a field by its id. */
const put = (page, id, text) => page.locator(`[id="${id}"]`).fill(text);

/** Touches one of several answers side by side. */
const segment = (page, group, key) => page.locator(`#${group} input[value="${key}"]`).check({ force: true });

/** The bank's figures by name. */
async function totals(page) {
  const fold = page.locator("#bank-result .every-total");
  if (!(await fold.evaluate((it) => it.open))) await fold.locator("summary").click();
  await page.locator("#bank-result .total").first().waitFor();
  const rows = await page.locator("#bank-result .total").evaluateAll((rows) =>
    rows.map((row) => [row.querySelector("dt").textContent, row.querySelector(".total-figure").textContent]));
  return Object.fromEntries(rows.map(([name, figure]) => [name, figure.replaceAll("\u00a0", " ")]));
}

/** Whether any of it stands in the part of the window that the page moves in. */
const inSight = (locator) =>
  locator.evaluate((it) => {
    const [{ top, bottom }, main] = [it, document.querySelector("main")].map((box) => box.getBoundingClientRect());
    return bottom > main.top && top < main.bottom;
  });

const said = (page, selector) => page.locator(selector).innerText().then((text) => text.replaceAll("\u00a0", " "));

test("two in series, 80 % and 60 %: 75 % usable, 60 % cautious", async (t) => {
  const { page, trouble } = await open(t, "bank");
  await put(page, "parallel", "1");
  await put(page, "series", "2");
  await put(page, "capacity", "100 Ah");
  await put(page, "nominal", "12,8");
  await put(page, "soh", "100");
  await segment(page, "way", "singly");
  await put(page, "m1-soc", "80");
  await put(page, "m1-voltage", "13.3");
  await touch(page, "Next module");
  await page.getByRole("heading", { name: "Module 2 of 2" }).waitFor();
  await touch(page, "Same as above");
  assert.equal(await page.locator("#m2-voltage").inputValue(), "13.3");
  await put(page, "m2-soc", "60 %");
  const found = await totals(page);
  assert.equal(found["Nameplate capacity"], "100 Ah");
  assert.equal(found["Remaining charge"], "60 Ah");
  assert.equal(found["Room to charge"], "20 Ah");
  assert.equal(found["State of charge, usable"], "75 %");
  assert.equal(found["State of charge, cautious"], "60 %");
  assert.equal(found["Voltage"], "26.6 V");
  assert.ok(!("Current" in found), "nobody said a current");
  assert.match(await page.locator(".not-known").textContent(), /^Not known yet: .*current/);
  assert.match(await said(page, ".headline"), /75 %[\s\S]*60 Ah/);
  // The way to the figures stands at the thumb while they are not in sight, and only then.
  const way = page.locator(".foot .primary");
  await page.locator("#parallel").scrollIntoViewIfNeeded();
  assert.equal(await inSight(way), true);
  await way.click();
  assert.deepEqual([await inSight(way), await inSight(page.locator("#bank-result h2"))], [false, true]);
  // Going back keeps what was typed.
  await touch(page, "Back one");
  await page.getByRole("heading", { name: "Module 1 of 2" }).waitFor();
  assert.equal(await page.locator("#m1-soc").inputValue(), "80");
  assert.deepEqual(await axe(page), []);
  assert.deepEqual(trouble, []);
});

test("the display against three alike: agrees, then one silent", async (t) => {
  const { page, trouble } = await open(t, "bank");
  for (const [id, text] of Object.entries({ parallel: "3", capacity: "230", nominal: "12.8", soh: "100", "all-soc": "80", "all-voltage": "13.3" })) {
    await put(page, id, text);
  }
  await put(page, "shown-capacity", "690");
  await put(page, "shown-charge", "552");
  await put(page, "shown-soc", "80");
  // The verdict on all, then one on each.
  assert.equal(await page.locator(".bank-display .badge-holds").count(), 4);
  await page.getByText("Nothing shown speaks against the bank.").waitFor();
  await put(page, "shown-modules", "2");
  await put(page, "shown-capacity", "460");
  await put(page, "shown-charge", "368");
  assert.match(await said(page, ".causes-box li:first-child"), /silent on the bus[\s\S]*The check that tells: Count the modules/i);
  // The current was not said, so a shown one is not judged.
  await put(page, "shown-current", "12");
  await page.locator(".bank-display .badge-not-done").waitFor();
  assert.deepEqual(await axe(page), []);
  assert.deepEqual(trouble, []);
});

test("unlike modules: each with a plate of its own; and what the chargers are asked for", async (t) => {
  const { page, trouble } = await open(t, "bank");
  for (const [id, text] of Object.entries({ parallel: "3", capacity: "100", cells: "4", soh: "100" })) await put(page, id, text);
  await page.locator("details.more-fields summary").first().click();
  await put(page, "charge-limit", "50");
  await put(page, "charge-voltage", "14.4");
  await segment(page, "way", "singly");
  await page.getByText("Its own plate").click();
  await put(page, "m1-capacity", "300 Ah");
  await put(page, "m1-charge-limit", "100");
  const found = await totals(page);
  assert.equal(found["Nameplate capacity"], "500 Ah");
  assert.equal(found["Nameplate energy"], "6.4 kWh");
  assert.equal(found["Charge current, upper bound"], "200 A");
  assert.equal(found["Charge current, as sharing allows"], "150 A");
  assert.equal(found["Charge current, one module missing"], "100 A");
  await put(page, "asked-voltage", "14.2");
  await put(page, "asked-current", "150");
  await page.locator(".bank-chargers .badge-holds").waitFor();
  await put(page, "asked-current", "151");
  await page.locator(".bank-chargers .badge-look-again").waitFor();
  await put(page, "m1-temperature", "-2");
  await page.locator(".bank-chargers .badge-fails").waitFor();
  assert.match(await said(page, ".bank-chargers .because"), /charging must have stopped/);
  // Alike again: the card waits and does not count.
  await segment(page, "way", "alike");
  assert.equal((await totals(page))["Nameplate capacity"], "300 Ah");
  await segment(page, "way", "singly");
  assert.equal((await totals(page))["Nameplate capacity"], "500 Ah");
  assert.deepEqual(await axe(page), []);
  assert.deepEqual(trouble, []);
});

test("a voltage on the plateau: 61 to 74 % by the meter alone", async (t) => {
  const { page, trouble } = await open(t, "rest");
  await put(page, "voltage", "13.200");
  await put(page, "error", "0.05");
  assert.match(await said(page, ".rp-legend"), /^61–74 % by the meter alone/);
  assert.match(await page.locator(".rest-picture").getAttribute("aria-label"), /13\.2.V allows/);
  assert.equal(await page.locator(".badge-look-again").count(), 1);
  await put(page, "voltage", "11.79");
  await page.locator(".badge-holds").waitFor();
  await segment(page, "series", "8");
  await page.locator(".badge-fails").waitFor();
  await segment(page, "series", "other");
  await put(page, "cells", "0");
  assert.equal(await said(page, "#cells-error"), "Enter from 1 to 256 cells.");
  assert.deepEqual(await axe(page), []);
  assert.deepEqual(trouble, []);
});

test("joining: 0.05 V over 18 mΩ is 2.8 A, 0.40 V is 22.2 A", async (t) => {
  const { page, trouble } = await open(t, "join");
  for (const [id, text] of Object.entries({ "voltage-1": "13.30", "voltage-2": "13.25", "soc-1": "80", "soc-2": "78", resistance: "9", lead: "0" })) {
    await put(page, id, text);
  }
  await page.locator(".badge-holds").waitFor();
  assert.match(await said(page, ".big-figure"), /^2\.8 A to expect/);
  await put(page, "voltage-1", "13.65");
  await page.locator(".badge-fails").waitFor();
  assert.match(await said(page, ".big-figure"), /^22\.2 A to expect/);
  await put(page, "voltage-1", "13.25");
  await put(page, "soc-2", "");
  await page.getByText("Not known", { exact: true }).waitFor();
  await segment(page, "how", "series");
  await put(page, "soc-1", "100");
  await put(page, "soc-2", "99.5");
  await page.locator(".badge-holds").waitFor();
  assert.deepEqual(await axe(page), []);
  assert.deepEqual(trouble, []);
});

test("sharing: four on one end, then back from measured currents", async (t) => {
  const { page, trouble } = await open(t, "sharing");
  for (const [id, text] of Object.entries({ modules: "4", inner: "8", link: "0.4 mΩ", load: "200", limit: "100" })) await put(page, id, text);
  const label = await page.locator(".sharing-bars").getAttribute("aria-label");
  assert.equal(label.replaceAll("\u00a0", " "), "Currents of the modules: 65.2 A, 51.8 A, 43.5 A, 39.5 A. Mean 50 A.");
  await page.locator("#sharing-result .badge-fails").waitFor();
  assert.match(await said(page, "#sharing-result .total-chosen"), /306\.5 A of bank current/);
  await page.locator("#wiring input[value=diagonal]").check();
  await page.locator("#sharing-result .badge-holds").waitFor();
  for (const [n, text] of ["57", "52", "36", "55"].entries()) await put(page, `measured-${n + 1}`, text);
  assert.match(await said(page, "#odd-result .because"), /^Odd is module 3/);
  await page.locator("#link-how input[value=copper]").check({ force: true });
  await put(page, "length", "0.5");
  await put(page, "area", "50 mm²");
  await page.locator("#sharing-result .badge-holds").waitFor();
  assert.deepEqual(await axe(page), []);
  assert.deepEqual(trouble, []);
});

const LONG = "7".repeat(10_000);

test("hostile entries: a sentence at the field, the text stays, nothing stops", async (t) => {
  const { page, trouble } = await open(t, "bank");
  let tried = 0;
  for (const hash of ["bank", "rest", "join", "sharing"]) {
    await page.evaluate((hash) => { location.hash = `#/measure/${hash}`; }, hash);
    await onScreen(page, { bank: "numbers", rest: "Rest voltage", join: "joined", sharing: "Sharing" }[hash]);
    for (const details of await page.locator("main details.more-fields").all()) await details.locator("summary").click();
    const ids = await page.locator("main .field input").evaluateAll((inputs) => inputs.map((input) => input.id));
    assert.ok(ids.length >= 2, hash);
    for (const id of ids) {
      const field = page.locator(`[id="${id}"]`);
      const before = await field.inputValue();
      for (const text of ["letters", "NaN", "1,234.5", "1e300", LONG]) {
        await field.fill(text);
        assert.equal(await field.inputValue(), text, `${id}: the text is lost`);
        assert.match(await page.locator(`[id="${id}-error"]`).innerText(), /^[A-Z“].{8,}\.$/, `${id}: ${text.slice(0, 12)}`);
        assert.equal(await field.getAttribute("aria-invalid"), "true");
        assert.equal(await page.locator("#halt").isVisible(), false);
        tried += 1;
      }
      await field.fill(before);
    }
  }
  // As many as one may type, and more than a bank may have.
  await page.evaluate(() => { location.hash = "#/measure/bank"; });
  await onScreen(page, "numbers");
  for (const [parallel, series] of [["0", "1"], ["64", "2"], ["10000", "10000"], ["64", "1"]]) {
    await put(page, "parallel", parallel);
    await put(page, "series", series);
    await until(page, () => document.querySelector("#bank-result"));
    assert.equal(await page.locator("#halt").isVisible(), false);
    if (parallel !== "64" || series !== "1") assert.ok((await page.locator("main .error:not(:empty)").count()) > 0, `${parallel} × ${series}`);
  }
  await type(page, "Nameplate capacity", "100000");
  await page.getByText("lie beyond what a bank can be").waitFor();
  assert.deepEqual(trouble, []);
  t.diagnostic(`${tried} entries tried`);
});
