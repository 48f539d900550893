// Ohms, reading by reading: in a job with the site's numbers, and by hand for a bus without a job.

import assert from "node:assert/strict";
import { test } from "node:test";
import { kept, onScreen, primary, seeOneTerminator, touch, type } from "./app.mjs";
import { Site, axe, openBrowser, troubles, until, untilDrawn, visit } from "./lib.mjs";

const READING = "The meter's reading";
const causes = (page) => page.locator(".suspicion .row-title").allInnerTexts();
const now = (page) => page.locator(".next .next-action").innerText();

async function take(page, text) {
  await type(page, READING, text);
  await primary(page).click();
  await until(page, () => document.querySelector("#trace-ohms").value === "");
}

test("in a job: from one terminator seen to the place of the fault", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, site.url);
  const trouble = troubles(page);
  await seeOneTerminator(page);
  await touch(page, "Ohms, reading by reading");
  await onScreen(page, "Ohms, reading by reading");
  // The card's reading is here already: a missing terminator or an open wire, at either end or in any lead.
  await page.locator(".suspicion").first().waitFor();
  const first = await causes(page);
  assert.ok(first.includes("One terminator missing") && first.includes("One data wire open"), first.join());
  // Another reading of the person's own choice: the terminator at the bank's end pulled, and nothing changes.
  await page.locator("summary", { hasText: "Measure something else" }).click();
  await page.getByText("With the terminator at the bank's free end pulled").click();
  assert.match(await page.locator(".next .see").innerText(), /A whole bus reads 1\d\d/);
  await take(page, "118.6");
  await until(page, () => document.querySelectorAll(".taken").length === 2);
  // An open wire would leave the reading as it is too; of the two terminators, only the pulled one can be the one that lacks.
  const missing = await page.locator(".suspicion", { hasText: "One terminator missing" }).innerText();
  assert.match(missing, /at the bank's free end/);
  assert.doesNotMatch(missing, /at the monitor's end/);
  assert.deepEqual(await axe(page), []);
  // It is kept, and taking it back brings the first picture back.
  await page.waitForTimeout(600);
  const texts = Object.values((await kept(page)).local);
  assert.ok(texts.some((text) => JSON.parse(text).job.observations.some((seen) => seen.of.hold === "monitor.hl.terminator-bank")));
  await page.reload();
  await untilDrawn(page);
  await until(page, () => document.querySelectorAll(".taken").length === 2);
  const job = page.url().match(/#\/job\/([^/]+)/)[1];
  await page.goto(`${site.url}#/job/${job}/record`);
  await onScreen(page, "Record");
  assert.match(await page.locator("main").innerText(), /With the terminator at the bank's free end pulled/);
  await page.goto(`${site.url}#/job/${job}/ohms`);
  await page.locator(".taken", { hasText: "Wire H to wire L" }).nth(1).getByRole("button").click();
  await until(page, () => document.querySelectorAll(".taken").length === 1);
  assert.deepEqual(await causes(page), first);
  assert.deepEqual(trouble, []);
});

test("by hand: what is measured as advised is kept over a reload", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, `${site.url}#/measure/ohms`);
  const trouble = troubles(page);
  assert.match(await now(page), /Wire H to wire L, at the monitor's end/);
  await primary(page).click();
  assert.match(await page.locator("#trace-ohms-error").innerText(), /\.$/);
  await take(page, "60,3 Ω");
  await page.locator(".finding-holds").waitFor();
  assert.equal((await causes(page))[0], "Nothing wrong that ohms can show");
  await page.locator(".taken").getByRole("button").click();
  await until(page, () => !document.querySelector(".taken"));
  await take(page, "OL");
  await page.locator(".finding-fails").waitFor();
  await until(page, () => /tells most|would tell much/.test(document.querySelector(".trace-why").textContent));
  const advised = await now(page);
  assert.notEqual(advised, "Wire H to wire L, at the monitor's end");
  await type(page, READING, "half-typed");
  await page.reload();
  await untilDrawn(page);
  assert.equal(await page.getByLabel(READING).inputValue(), "half-typed");
  await until(page, (advised) => document.querySelector(".next .next-action").innerText === advised, advised);
  assert.deepEqual(trouble, []);
});

/** Takes a reading, and waits for what is said of the next. */
async function takeAndHear(page, text) {
  const taken = await page.locator(".taken").count();
  await take(page, text);
  await until(page, (taken) => document.querySelectorAll(".taken").length > taken, taken);
  await until(page, () => document.querySelector(".trace-why").textContent !== "");
}

test("by hand: where nothing more is told, what the readings come down to stands first", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, `${site.url}#/measure/ohms`);
  const trouble = troubles(page);
  const isOver = () => page.locator(".next .trace-why").count();
  // A whole bus reads what a whole bus should, whatever is asked.
  for (let readings = 0; readings < 12 && !(await isOver()); readings += 1) {
    const see = await page.locator(".next .see").innerText();
    const window = see.match(/A whole bus reads ([\d.]+)\sΩ to ([\d.]+)\sΩ/);
    assert.ok(window || /or more there, or an open path/.test(see), see);
    await takeAndHear(page, window ? ((Number(window[1]) + Number(window[2])) / 2).toFixed(1) : "OL");
  }
  assert.equal(await page.locator(".next .over").innerText(), "Enough is read");
  assert.match(await now(page), /^Nothing wrong that ohms can show, \d\d\s%$/);
  assert.match(await page.locator(".next .hint").innerText(), /To measure once more: Wire H to wire L/);
  while (await page.locator(".taken").count()) {
    const taken = await page.locator(".taken").count();
    await page.locator(".taken").first().getByRole("button").click();
    await until(page, (taken) => document.querySelectorAll(".taken").length < taken, taken);
  }
  assert.equal(await page.locator(".next .over").innerText(), "Measure now");
  // No reading agrees with another: the meter saw a bus that was not off, and there is nothing to mend.
  for (const text of ["118", "60", "118", "118"]) {
    assert.equal(await isOver(), 0);
    await takeAndHear(page, text);
  }
  assert.equal(await page.locator(".next .over").innerText(), "Time to check");
  assert.match(await now(page), /^The bus was not off, \d\d\s%$/);
  assert.match(await page.locator(".next .see").innerText(), /once all three voltages hold/);
  assert.deepEqual(trouble, []);
});
