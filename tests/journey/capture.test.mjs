// A log of the bus: pasted, opened, cancelled, hostile; what it says, and what a job takes from it.

import assert from "node:assert/strict";
import { closeSync, openSync, writeFileSync, writeSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { onScreen, openDemo, touch } from "./app.mjs";
import { Site, axe, openBrowser, tempDir, troubles, until, untilOffline, visit } from "./lib.mjs";
import { sideways } from "./seen.mjs";

// The decode examples of the bus reference (6.3 to 6.5), with what a whole bank would add.
const EXAMPLES = `(10.000000) can0 19FFFD80#01780A019CF73577
(10.100000) can0 19FFFC80#01784025A0FFFFFF
(10.200000) can0 19FEC980#0178021C01E880F3
(10.300000) can0 19FFFB80#0178C82802A0FFFF
(10.400000) can0 19FEA580#0178F5B202FFFFFF
(10.500000) can0 19FE9591#01010A0100943577
(10.600000) can0 19FE9592#02010A0100943577
(10.700000) can0 19FE9593#03010A0100943577
(10.800000) can0 705#05
(10.900000) can0 085#1042090000000000
(11.000000) can0 18FECA80#10FF3412A301FFFF
this is no frame
`;

const textOf = (page) => page.locator("main").innerText().then((text) => text.replaceAll("\u00a0", " "));

const finished = (page) => page.getByRole("button", { name: "Other log" }).waitFor({ timeout: 120_000 });

async function openLog(page, file) {
  await page.locator(".foot .file input").setInputFiles(file);
}

async function start(t, options) {
  const site = await Site.start(t);
  const browser = await openBrowser(t, undefined, options);
  const page = await visit(browser, `${site.url}#/measure/capture`);
  await onScreen(page, "A log of the bus");
  return { site, page, trouble: troubles(page) };
}

async function paste(page, text) {
  await page.getByLabel("Or paste lines of one").fill(text);
  await touch(page, "Read these lines");
  await finished(page);
}

/** The pairs of one card, by its heading. */
async function card(page, heading) {
  const found = page.locator(".card", { has: page.locator("h3", { hasText: heading }) }).first();
  const pairs = await found.locator(".pairs > div").evaluateAll((rows) => rows.map((row) => [row.querySelector("dt").innerText, row.querySelector("dd").innerText.replaceAll("\u00a0", " ")]));
  return Object.fromEntries(pairs);
}

test("the examples, pasted, and what a job takes from them", async (t) => {
  const { page, site, trouble } = await start(t);
  // What the worker still stores for the first time is no question of the log's.
  await untilOffline(page, "ready");
  await openDemo(page, "Lark");
  const job = page.url();
  await page.evaluate(() => { location.hash = "#/measure"; });
  await touch(page, "A log of the bus");
  await onScreen(page, "A log of the bus");
  site.forget();
  await paste(page, EXAMPLES);
  assert.deepEqual(await axe(page), []);

  const bank = await card(page, "Bank 1");
  assert.equal(bank["Voltage"], "13.3 V");
  assert.equal(bank["Current"], "25.5 A");
  assert.equal(bank["State of charge"], "80 %");
  assert.equal(bank["Temperature"], "25 °C");
  assert.equal(bank["Asks chargers for"], "bulk");
  assert.equal(bank["Asks for volts"], "14.2 V");
  assert.equal(bank["Remaining charge"], "552 Ah");
  assert.equal(bank["Full capacity"], "690 Ah");
  const text = await textOf(page);
  for (const part of ["Battery 3 of bank 1", "operational, 1 heartbeat", "Emergency 4210, register 09, 1 time", "red lamp on", "Number 332340, voltage high", "Possible: ", "RV-C runs at it"]) {
    assert.ok(text.includes(part), `${part} is not in ${text}`);
  }
  await page.getByText("not understood").first().waitFor();
  await page.locator("summary", { hasText: "not understood" }).click();
  await page.getByText("Line 12: It does not begin with a time in brackets.").waitFor();

  // Nothing is taken before it is listed; the current asks for a tick of its own.
  const boxes = page.getByRole("group", { name: "Readings to take" });
  const rows = await boxes.locator(".row-title").allInnerTexts();
  assert.deepEqual(rows.map((row) => row.replaceAll("\u00a0", " ").split(":")[1].trim()), ["3", "690 Ah", "80 %", "552 Ah", "13.3 V", "25.5 A"]);
  assert.equal(await boxes.locator("input:checked").count(), 5);
  await boxes.getByText("Remaining charge").click();
  await touch(page, "Take 4 readings");
  await page.getByText("4 readings taken into Lark").waitFor();
  assert.deepEqual(await axe(page), []);
  await touch(page, "Open the job");
  await onScreen(page, "Lark");
  assert.equal(page.url(), job);
  await page.evaluate(() => { location.hash += "/record"; });
  await onScreen(page, "Record");
  const record = await textOf(page);
  for (const part of ["690 Ah, from a log: RV-C 1FEA5 of address 0x80", "80 %, from a log: RV-C 1FFFC", "3, from a log: batteries that spoke"]) {
    assert.ok(record.includes(part), `${part} is not in ${record}`);
  }
  assert.ok(!record.includes("552 Ah, from a log"), "what was not ticked was taken");
  // The log stays read.
  await page.evaluate(() => { location.hash = "#/measure/capture"; });
  await finished(page);
  assert.deepEqual(site.requests.filter(({ dest }) => dest !== "serviceworker"), [], "reading a log asked the network for something");
  assert.deepEqual(trouble, []);
});

test("a file of 200,000 lines with some bad ones, and a description of its signals", async (t) => {
  const { page, trouble } = await start(t);
  const folder = tempDir(t);
  const lines = [];
  for (let n = 0; n < 200_000; n += 1) {
    const time = `${Math.floor(n / 1000)}.${String((n % 1000) * 1000).padStart(6, "0")}`;
    if (n % 20_000 === 7) lines.push("rubbish");
    else if (n % 4 === 0) lines.push(`(${time}) can0 19FFFD80#01780A019CF73577`);
    else lines.push(`(${time}) can0 ${(0x300 + (n % 4)).toString(16)}#D20412345678`);
  }
  const file = join(folder, "bus.log");
  writeFileSync(file, lines.join("\n"));
  await openLog(page, file);
  await finished(page);
  const facts = Object.fromEntries(await page.locator(".page-capture > .pairs").first().locator("div").evaluateAll((rows) => rows.map((row) => [row.querySelector("dt").innerText, row.querySelector("dd").innerText.replaceAll("\u00a0", " ")])));
  assert.deepEqual(facts, { Frames: "199990", Time: "200 s", Lines: "200000", "Not understood": "10" });
  await page.locator("summary", { hasText: "not understood" }).click();
  await page.getByText("Line 8: It does not").waitFor();
  const talker = await card(page, "19FFFD80");
  assert.deepEqual([talker.Frames, talker.Every, talker["From, to"], talker.Jitter, talker.Bytes], ["50000", "4 ms", "4 ms to 4 ms", "0 s", "8"]);
  assert.equal(await page.locator(".load-picture").count(), 1);
  // 1000 frames a second, some 100 bits each: 125 kbit/s cannot be ruled out only if it fits.
  const rates = page.getByRole("group", { name: "Bit rate to assume" });
  assert.match(await rates.innerText(), /1.Mbit\/s/);
  const before = await page.locator(".load-picture").getAttribute("aria-label");
  await rates.getByText("500").click();
  await until(page, (before) => document.querySelector(".load-picture").getAttribute("aria-label") !== before, before);

  writeFileSync(join(folder, "names.dbc"), 'VERSION ""\nBO_ 769 PackLeft: 6 X\n SG_ PackVolts : 0|16@1+ (0.01,0) [0|100] "V" X\n SG_ odd\nBO_ 770 PackRight: 6 X\n');
  await page.locator(".describe .file input").setInputFiles(join(folder, "names.dbc"));
  await page.getByText("names.dbc: 2 messages, 2 of them in this log").waitFor();
  await page.getByText("1 line not understood").waitFor();
  assert.equal((await card(page, "301"))["PackVolts"], "12.34 V");
  assert.deepEqual(await axe(page), []);
  assert.deepEqual(trouble, []);
});

test("a large file can be cancelled, and the page answers while it is read", async (t) => {
  const { page, trouble } = await start(t);
  const file = join(tempDir(t), "large.log");
  const handle = openSync(file, "w");
  let size = 0;
  for (let block = 0; size < 60e6; block += 1) {
    let text = "";
    for (let n = 0; n < 10_000; n += 1) text += `(${block * 10 + Math.floor(n / 1000)}.${String(n % 1000).padStart(3, "0")}000) can0 19FFFD80#01780A019CF73577\n`;
    size += writeSync(handle, text);
  }
  closeSync(handle);
  await page.evaluate(() => {
    window.turns = [];
    let last = performance.now();
    const turn = () => { const now = performance.now(); window.turns.push(now - last); last = now; requestAnimationFrame(turn); };
    requestAnimationFrame(turn);
  });
  const begun = Date.now();
  await openLog(page, file);
  await until(page, () => (document.querySelector("progress")?.value ?? 0) >= 5);
  assert.match(await textOf(page), /Reading large\.log\s+\d+ % of 6\d\.?\d? MB/);
  await touch(page, "Cancel");
  await finished(page);
  const text = await textOf(page);
  const [, percent] = text.match(/Stopped at (\d+) %/);
  assert.ok(percent >= 5 && percent < 100, `stopped at ${percent} %`);
  assert.match(text, /Bank 1/);
  const longest = await page.evaluate(() => Math.max(...window.turns));
  t.diagnostic(`stopped at ${percent} % after ${Date.now() - begun} ms, longest turn ${longest.toFixed(0)} ms`);
  assert.ok(longest < 3000, `the page did not answer for ${longest} ms`);
  await touch(page, "Other log");
  const again = Date.now();
  await openLog(page, file);
  await finished(page);
  const seconds = (Date.now() - again) / 1000;
  t.diagnostic(`whole: ${(size / 1e6).toFixed(0)} MB in ${seconds.toFixed(1)} s, ${(size / 1e6 / seconds).toFixed(1)} MB/s`);
  assert.ok(!(await textOf(page)).includes("Stopped at"));
  assert.deepEqual(trouble, []);
});

test("hostile content is counted, never fatal", async (t) => {
  const { page, trouble } = await start(t);
  const folder = tempDir(t);
  const binary = Buffer.alloc(2_000_000);
  for (let n = 0; n < binary.length; n += 1) binary[n] = (n * 7919 + (n >> 8) * 104729) & 0xff;
  const cases = {
    "binary.log": [binary, /No frame was found/],
    "empty.log": ["", /No frame was found/],
    "one-line.log": [Buffer.alloc(50_000_000, 0x61), /No frame was found[\s\S]*not understood/],
    "endless-ids.log": [Array.from({ length: 20_000 }, (_, n) => `(${n}.0) can${n % 40} ${n.toString(16).padStart(8, "0")}#FFFFFFFFFFFFFFFF`).join("\n"), /Frames/],
    "times.log": ["(99999999999999999999.0) can0 123#00\n(18446744073709.0) can0 123#00\n(0.0) can0 123#00\n(18446744073708.9) can0 123#\n", /Frames/],
    "remote.log": ["(1.0) can0 123#R\n(1.0) can0 20000080#00\n(2.0) can0 123##1AABB\r\n", /Error reports/],
  };
  for (const [name, [content, expected]] of Object.entries(cases)) {
    const file = join(folder, name);
    writeFileSync(file, content);
    await openLog(page, file);
    await finished(page);
    assert.match(await textOf(page), expected, name);
    assert.equal(await page.locator("#halt").isVisible(), false, `${name}: the app stopped`);
    assert.equal(await page.evaluate(sideways), 0, `${name} scrolls sideways`);
    if (name === "times.log") {
      for (const [hostile, bytes] of [["binary.dbc", binary], ["empty.dbc", ""], ["large.dbc", Buffer.alloc(9_000_000, 0x0a)]]) {
        writeFileSync(join(folder, hostile), bytes);
        await page.locator(".describe .file input").setInputFiles(join(folder, hostile));
        await page.getByText(`${hostile}: 0 messages`).waitFor();
      }
    }
    await touch(page, "Other log");
    await page.getByLabel("Or paste lines of one").waitFor();
  }
  assert.deepEqual(trouble, []);
});

test("every stage of it at 390 and 360 px, in both looks", async (t) => {
  for (const colorScheme of ["light", "dark"]) {
    const { page } = await start(t, { colorScheme });
    await paste(page, EXAMPLES);
    for (const [width, height] of [[390, 844], [360, 640]]) {
      await page.setViewportSize({ width, height });
      const small = await page.evaluate(() => {
        const low = [...document.querySelectorAll("main a, main button, main input, main summary")]
          .map((element) => element.closest("label") ?? element)
          .filter((target) => target.getBoundingClientRect().width > 0 && target.getBoundingClientRect().height < 55.5);
        return low.map((target) => target.innerText);
      });
      assert.deepEqual([small, await page.evaluate(sideways)], [[], 0], `${colorScheme} at ${width} px`);
    }
    assert.deepEqual(await axe(page), [], colorScheme);
  }
});
