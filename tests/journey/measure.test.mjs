// The pages under Measure: what people and accidents type, and what comes out for figures of the published sources.

import assert from "node:assert/strict";
import { test } from "node:test";
import { choose, enter, onScreen, openCard, openDemo, primary, touch, typed, verdicts } from "./app.mjs";
import { Site, axe, openBrowser, troubles, until, visit } from "./lib.mjs";
import { sideways } from "./seen.mjs";

const LONG = "7".repeat(10_000);
const HOSTILE = ["", "letters", "-5", "1e9", "NaN", "OL", "60,2", "1.234,5", LONG];
const NEVER_READ = new Set(["", "letters", "NaN", "1e9", "1.234,5", LONG]);

const PAGES = [
  ["#/measure/volts", []],
  ["#/measure/length", []],
  ["#/measure/profile", [["The bank's end", "By hand"], ["The monitor's end", "By hand"]]],
  ["#/measure/rs485", []],
];

async function open(t, hash) {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, `${site.url}${hash}`);
  return [page, troubles(page)];
}

async function fieldsOf(page) {
  return page.locator("main .field input[type=text]").evaluateAll((inputs) => inputs.map((input) => input.id));
}

test("hostile entries", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  let tried = 0;
  for (const [hash, choices] of PAGES) {
    const page = await visit(browser, `${site.url}${hash}`);
    const trouble = troubles(page);
    for (const [question, row] of choices) await choose(page, question, row);
    const fields = await fieldsOf(page);
    assert.ok(fields.length >= 2, `${hash} has fields`);
    const before = new Map();
    for (const id of fields) before.set(id, await page.locator(`[id="${id}"]`).inputValue());
    for (const id of fields) {
      const field = page.locator(`[id="${id}"]`);
      for (const text of HOSTILE) {
        // A pair of optional readings is left alone when both are empty: fill the other one.
        if (id === "line-first") await page.locator("#line-second").fill("2");
        if (id === "line-second") await page.locator("#line-first").fill("2");
        await typed(field, text);
        await primary(page).click();
        await until(page, () => document.querySelector(".error:not(:empty), .finding"));
        assert.equal(await field.inputValue(), text, `${hash} ${id}: the text is lost`);
        const error = await page.locator(`[id="${id}-error"]`).innerText();
        if (NEVER_READ.has(text)) {
          assert.match(error, /^[A-Z“].{10,}\.$/, `${hash} ${id}: no sentence for "${text.slice(0, 12)}"`);
          assert.equal(await field.getAttribute("aria-invalid"), "true");
        }
        assert.equal(await page.locator("#halt").isVisible(), false, `${hash} ${id}: the app stopped`);
        tried += 1;
      }
      await field.fill(before.get(id));
    }
    assert.deepEqual(trouble, []);
    await page.close();
  }
  t.diagnostic(`${tried} entries tried`);
});

test("every page is reached from the list, and leads back", async (t) => {
  const [page, trouble] = await open(t, "#/measure");
  for (const title of ["Ohms between the two data wires", "Volts on the data wires", "Pins", "Port profile", "Length and bit rate", "RS-485"]) {
    await touch(page, title);
    await onScreen(page, title);
    await page.locator(".back").click();
    await onScreen(page, "Measure");
  }
  assert.deepEqual(trouble, []);
});

test("volts: what two readings mean", async (t) => {
  const [page, trouble] = await open(t, "#/measure/volts");
  for (const [high, low, verdict, because] of [
    ["2.65", "2.35", "Holds", /carries data/],
    ["0", "0.01 V", "Look again", /asleep or off/],
    ["2,35", "2,65", "Fails", /change places/],
    ["3.5", "1.5", "Fails", /holds the bus/],
    ["13.3", "12.4", "Fails", /touches a supply/],
  ]) {
    await enter(page, { "Wire H to reference": high, "Wire L to reference": low });
    assert.deepEqual(await verdicts(page), [verdict]);
    assert.match(await page.locator(".because").innerText(), because);
    assert.equal(await page.locator(".window-line").count(), 2);
    assert.deepEqual(await axe(page), []);
  }
  // A verdict never stands beside another reading.
  await page.getByLabel("Wire H to reference").fill("2.6");
  assert.equal(await page.locator(".finding").count(), 0);
  assert.deepEqual(trouble, []);
});

test("length: which limit binds", async (t) => {
  const [page, trouble] = await open(t, "#/measure/length");
  await enter(page, { "Trunk, from end to end": "95" });
  assert.deepEqual(await verdicts(page), ["Look again"]);
  assert.match(await page.locator(".because").innerText(), /timing/);
  assert.match(await page.locator(".look").innerText(), /250.kbit\/s/);
  assert.match(await page.locator(".limits").innerText(), /CANopen table\s+100.m\s+5\.5.m/);
  assert.deepEqual(await axe(page), []);
  await enter(page, { "Bit rate": "250" });
  assert.deepEqual(await verdicts(page), ["Holds"]);
  await choose(page, "Conductor given by", "Area");
  await enter(page, { "Area of one conductor": "0,34 mm²" });
  assert.deepEqual(await verdicts(page), ["Holds"]);
  assert.equal(await page.evaluate(sideways), 0);
  // A gauge that no data wire has.
  await choose(page, "Conductor given by", "Gauge");
  await enter(page, { "Gauge, AWG": "99" });
  assert.match(await page.locator("#gauge-error").innerText(), /from 10 to 30/);
  assert.deepEqual(trouble, []);
});

test("profile: two ends", async (t) => {
  const [page, trouble] = await open(t, "#/measure/profile");
  await primary(page).click();
  assert.equal(await page.locator("#bank-error").innerText(), "Choose one answer.");
  await choose(page, "The bank's end", "Plain 12-230");
  await choose(page, "The monitor's end", "Window 2");
  await primary(page).click();
  assert.deepEqual(await verdicts(page), ["Holds"]);
  await choose(page, "The monitor's end", "COACH");
  await primary(page).click();
  assert.deepEqual(await verdicts(page), ["Fails"]);
  assert.match(await page.locator(".may-be").innerText(), /Wrong bit rate/);
  assert.deepEqual(await axe(page), []);
  assert.deepEqual(trouble, []);
});

test("RS-485: idle voltage and polarity", async (t) => {
  const [page, trouble] = await open(t, "#/measure/rs485");
  await enter(page, { "Receivers on the pair": "32", "First line to reference": "2.29", "Second line to reference": "2.61" });
  assert.deepEqual(await verdicts(page), ["Holds", "Fails"]);
  const reasons = await page.locator(".because").allInnerTexts();
  assert.match(reasons[0], /second line/);
  assert.match(reasons[1], /0\.18.V/);
  assert.deepEqual(await axe(page), []);
  assert.deepEqual(trouble, []);
});

test("pins: each face is described in words, and the card shows the site's own", async (t) => {
  const [page, trouble] = await open(t, "#/measure/pins");
  const labels = await page.locator("svg.pins").evaluateAll((all) => all.map((svg) => svg.getAttribute("aria-label")));
  assert.equal(labels.length, 7);
  for (const label of labels) assert.match(label, /Wire H is pin \d+, wire L is pin \d+, the reference is pin \d+\. Pins row by row/);
  await openDemo(page, "Otter");
  await openCard(page, "reach-pins");
  assert.match(await page.locator("svg.pins").getAttribute("aria-label"), /^M12, 5 pins, .* H is pin 4, wire L is pin 5, the reference is pin 3\./);
  assert.equal(await page.locator("svg.pins .pin-probed").count(), 2);
  assert.deepEqual(trouble, []);
});
