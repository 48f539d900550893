// Every field that takes a number, with what people and accidents put there: a clear sentence at the field, the text stays,
// nothing stops.

import assert from "node:assert/strict";
import { test } from "node:test";
import { openCard, openDemo, primary } from "./app.mjs";
import { Site, openBrowser, troubles, until, visit } from "./lib.mjs";

const LONG = "7".repeat(10_000);
const HOSTILE = ["", "letters", "-5", "1e9", "NaN", "60,2 Ω", "  60.2 ", LONG];

/** What must happen at a field of ohms. Other fields may differ on the readable ones, never on these. */
const NEVER_READ = new Set(["", "letters", "NaN", LONG, "1e9"]);

async function fieldsOf(page) {
  return page.locator("main .field input[type=text]:not(#site-name)").evaluateAll((inputs) => inputs.map((input) => input.id));
}

async function alive(page) {
  assert.equal(await page.locator("#halt").isVisible(), false, "the app stopped");
}

test("fields of cards", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, site.url);
  const trouble = troubles(page);
  await openDemo(page, "Lark");
  let tried = 0;
  for (const card of ["volts", "ohms", "count-and-nameplate", "charge", "voltage"]) {
    await openCard(page, card);
    for (const id of await fieldsOf(page)) {
      const field = page.locator(`[id="${id}"]`);
      for (const text of HOSTILE) {
        await field.fill(text);
        await primary(page).click();
        await until(page, () => document.querySelector(".error:not(:empty), .finding"));
        // The app moves the focus to what needs another look, a frame later.
        await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
        assert.equal(await field.inputValue(), text, `${id}: the text is lost`);
        const error = await page.locator(`[id="${id}-error"]`).innerText();
        if (NEVER_READ.has(text)) {
          assert.match(error, /^[A-Z“].{10,}\.$/, `${id}: no sentence for ${text.slice(0, 12)}`);
          assert.equal(await field.getAttribute("aria-invalid"), "true");
        }
        if (id.startsWith("pair-ohms") && text.includes("60")) assert.equal(error, "", `${id}: ${text} can be read`);
        if (id.startsWith("pair-ohms") && text === "-5") assert.match(error, /below zero/);
        await alive(page);
        tried += 1;
      }
      await field.fill("");
    }
  }
  assert.deepEqual(trouble, []);
  t.diagnostic(`${tried} entries tried`);
});

test("fields of the site", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, site.url);
  await openDemo(page, "Lark");
  const job = page.url().match(/#\/job\/([^/]+)/)[1];
  for (const part of ["modules", "leads"]) {
    await page.evaluate((hash) => { location.hash = hash; }, `#/job/${job}/site/${part}`);
    await page.locator(".page-question").waitFor();
    for (const id of await fieldsOf(page)) {
      const field = page.locator(`[id="${id}"]`);
      for (const text of HOSTILE) {
        await field.fill(text);
        assert.equal(await field.inputValue(), text, `${id}: the text is lost`);
        if (text !== "" && NEVER_READ.has(text)) {
          assert.match(await page.locator(`[id="${id}-error"]`).innerText(), /^[A-Z“].{10,}\.$/, `${id}: ${text.slice(0, 12)}`);
        }
        await alive(page);
      }
      // What cannot be read is kept over a reload, with its sentence.
      await field.fill("letters");
      await page.waitForTimeout(500);
      await page.reload();
      await page.locator(".page-question").waitFor();
      assert.equal(await field.inputValue(), "letters");
      assert.notEqual(await page.locator(`[id="${id}-error"]`).innerText(), "");
    }
  }
});

test("the field of the reading without a job", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, `${site.url}#/measure/ohms`);
  for (const text of HOSTILE) {
    await page.locator("#trace-ohms").fill(text);
    await primary(page).click();
    // What can be read goes to the list of readings as it was typed; what cannot stays, with its sentence.
    await until(page, () => document.querySelector("#trace-ohms-error:not(:empty)") || document.querySelector("#trace-ohms").value === "");
    const left = await page.locator("#trace-ohms").inputValue();
    if (left === "" && text !== "") await until(page, () => /tells most|would tell/.test(document.querySelector(".trace-why").textContent));
    const kept = await page.evaluate(() => JSON.parse(JSON.parse(localStorage["ohms.plain-bus"])).readings.map((reading) => reading.typed));
    if (left === "" && text !== "") assert.ok(kept.includes(text), `"${text.slice(0, 12)}" is lost: ${kept}`);
    else assert.equal(left, text);
    await alive(page);
  }
});
