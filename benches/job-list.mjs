// The list of jobs with many of them, in the built app, on a processor slowed four times: how long it takes to open, to
// find by a word, to draw more rows; and how long the app takes to start with them.
// Figures for a person to read, so no test: node benches/job-list.mjs [jobs] [rounds]
//
// Two figures each: by the clock, from the touch to the frame in which it can be seen; and what the page's own thread was
// busy, slowing included, which says the same on a machine that others use too.

import { createRequire } from "node:module";
import { join } from "node:path";
import { root } from "../tools/paths.mjs";
import { serve } from "../tools/serve.mjs";
import { ARGS, BROWSER, untilDrawn } from "../tests/journey/lib.mjs";

const { chromium } = createRequire(join(root, "tools", "package.json"))("playwright-core");
const jobs = Number(process.argv[2] ?? 1000);
const rounds = Number(process.argv[3] ?? 7);
const SLOWER = Number(process.env.SLOWER ?? 4);

const server = await serve({ port: 0 });
const browser = await chromium.launch({ executablePath: BROWSER, args: ARGS });
let context = await browser.newContext({ viewport: { width: 390, height: 844 } });
let page = await context.newPage();
let client;
await page.goto(`${server.url}#/jobs`);
await untilDrawn(page);

// Two real jobs of the app, some way along, as the models of all others.
for (const name of [/Lark/, /Otter/]) {
  await page.getByRole("button", { name }).first().click();
  await page.locator(".page-job").waitFor();
  const job = page.url().match(/#\/job\/([^/]+)/)[1];
  await page.evaluate((hash) => { location.hash = hash; }, `#/job/${job}/card/volts`);
  await page.locator(".page-card .ask input").first().waitFor();
  for (const [index, text] of ["0.001", "0.02", "0.01"].entries()) await page.locator(".ask input").nth(index).fill(text);
  await page.locator(".foot .primary").click();
  await page.evaluate((hash) => { location.hash = hash; }, `#/job/${job}/card/ohms`);
  await page.locator(".page-card .ask input").first().fill(name.source === "Lark" ? "60.4" : "118.6");
  await page.locator(".foot .primary").click();
  await page.locator(".finding").waitFor();
  await page.waitForTimeout(700);
  await page.evaluate(() => { location.hash = "#/jobs"; });
  await page.locator(".page-jobs").waitFor();
}

/** Makes so many jobs of the two, each with a name, a day, notes and a note of what was done, in both stores. */
const made = await page.evaluate(async (count) => {
  const models = Object.keys(localStorage).filter((key) => key.startsWith("ohms.job.")).map((key) => JSON.parse(localStorage[key]));
  localStorage.clear();
  const texts = [];
  for (let n = 0; n < count; n += 1) {
    const text = structuredClone(models[n % models.length]);
    text.job.id = `bench${n.toString(36).padStart(4, "0")}`;
    text.job.begun = Date.UTC(2024, 0, 1) + n * 20 * 3600 * 1000;
    text.job.site.name = `Boat ${n} of the ${["Müller", "Søren", "Zoë", "Łuk", "Ann"][n % 5]} yard`;
    text.job.notes = `Locker ${n % 37} to port. ${"The shunt sits behind the panel. ".repeat(n % 4)}`;
    text.job.archived = n % 10 === 9;
    texts.push([text.job.id, JSON.stringify(text)]);
  }
  let full = 0;
  for (const [id, text] of texts) {
    try { localStorage.setItem(`ohms.job.${id}`, text); } catch { full += 1; }
  }
  const database = await new Promise((done, failed) => {
    const request = indexedDB.open("ohms");
    request.onsuccess = () => done(request.result);
    request.onerror = () => failed(request.error);
  });
  await new Promise((done, failed) => {
    const transaction = database.transaction("jobs", "readwrite");
    transaction.objectStore("jobs").clear();
    for (const [id, text] of texts) transaction.objectStore("jobs").put(text, id);
    transaction.oncomplete = done;
    transaction.onerror = () => failed(transaction.error);
  });
  database.close();
  const bytes = texts.reduce((sum, [, text]) => sum + text.length, 0);
  return { bytes, full };
}, jobs);
await page.close();

/** A new tab at an address, slowed from before its first byte. The milliseconds until the app has drawn itself. */
async function start(hash) {
  page = await context.newPage();
  client = await context.newCDPSession(page);
  await client.send("Performance.enable", { timeDomain: "threadTicks" });
  await client.send("Emulation.setCPUThrottlingRate", { rate: SLOWER });
  await page.addInitScript(() => {
    const look = () => {
      if (document.querySelector("main h1")) window.drawnAt ??= performance.now();
      else requestAnimationFrame(look);
    };
    requestAnimationFrame(look);
  });
  await page.goto(`${server.url}${hash}`);
  await page.waitForFunction(() => window.drawnAt, undefined, { timeout: 300_000 });
  return { clock: await page.evaluate(() => window.drawnAt), busy: await busy() };
}

/** What the page's thread was busy since it began, in milliseconds. */
async function busy() {
  const { metrics } = await client.send("Performance.getMetrics");
  return metrics.find(({ name }) => name === "TaskDuration").value * 1000;
}

/** Does something in the page, and waits for the frame in which it can be seen: milliseconds. */
async function timed(act, seen, ...args) {
  const before = await busy();
  const clock = await page.evaluate(async ([act, seen, args]) => {
    const [doIt, isSeen] = [act, seen].map((text) => new Function(`return (${text})`)());
    const begin = performance.now();
    doIt(...args);
    await new Promise((done, failed) => {
      const look = () => isSeen(...args) && (watch.disconnect(), clearTimeout(late), done());
      const watch = new MutationObserver(look);
      const late = setTimeout(() => failed(new Error(`waited in vain for ${seen}`)), 60_000);
      watch.observe(document.body, { subtree: true, childList: true, characterData: true });
      look();
    });
    // What comes after the frame: by then it has been laid out and drawn.
    await new Promise((done) => requestAnimationFrame(() => {
      const { port1, port2 } = new MessageChannel();
      port1.onmessage = done;
      port2.postMessage(0);
    }));
    return performance.now() - begin;
  }, [String(act), String(seen), args]);
  return { clock, busy: (await busy()) - before };
}

const rows = [];
const note = (what, list) => {
  const sorted = (key) => list.map((one) => one[key]).sort((a, b) => a - b);
  const [clock, busy] = [sorted("clock"), sorted("busy")];
  const median = (all) => all[Math.floor(all.length / 2)].toFixed(0);
  rows.push({ what, "clock, median": median(clock), "clock, worst": clock.at(-1).toFixed(0), "busy, median": median(busy), "busy, worst": busy.at(-1).toFixed(0), of: list.length });
};
const goHome = async () => {
  await page.evaluate(() => { location.hash = "#/"; });
  await page.locator(".page-home").waitFor();
  await page.waitForTimeout(300);
};
const openList = () => timed(() => { location.hash = "#/jobs"; }, () => document.querySelectorAll(".page-jobs .jobs > li").length > 0);

// As the first one of its browser, and with nothing kept: what the app itself takes.
const kept = await (async () => {
  const empty = await browser.newContext({ viewport: { width: 390, height: 844 } });
  const whole = context;
  context = empty;
  const list = [];
  for (let round = 0; round < rounds; round += 1) {
    list.push(await start("#/"));
    await page.close();
  }
  context = whole;
  await empty.close();
  return list;
})();
note("start without any job", kept);
// Without any index: every text has to be read.
note("start without an index", [await start("#/")]);
note("list opened, nothing worked out yet", [await openList()]);
const begin = Date.now();
await page.waitForFunction(() => !document.querySelector(".jobs-filter ~ .hint"), undefined, { timeout: 600_000 });
rows.push({ what: "all jobs worked out, while the list can be read", "clock, median": Date.now() - begin, of: 1 });
// Long enough for the index to be kept.
await page.waitForTimeout(6000);
const index = await page.evaluate(() => localStorage["ohms.index"]?.length ?? 0);
await page.close();

const starts = [];
const first = [];
const opened = [];
const found = [];
const more = [];
const cold = [];
for (let round = 0; round < rounds; round += 1) {
  starts.push(await start("#/"));
  // Somebody looks at the first screen before going on.
  await page.waitForTimeout(2000);
  first.push(await openList());
  const find = (text) => {
    const field = document.querySelector("#jobs-search");
    field.value = text;
    field.dispatchEvent(new Event("input", { bubbles: true }));
  };
  const isFound = (text) => document.querySelector(".jobs .row-title").textContent.includes(text);
  found.push(await timed(find, isFound, "Boat 377"));
  await timed(find, () => document.querySelectorAll(".jobs > li").length >= 7, "");
  more.push(await timed(() => document.querySelector(".jobs + .quiet").click(), () => document.querySelectorAll(".jobs > li").length > 7));
  for (let again = 0; again < 3; again += 1) {
    await goHome();
    opened.push(await openList());
  }
  await page.close();
  cold.push(await start("#/jobs"));
  await page.close();
}
note("start on the first screen", starts);
note("start on the list", cold);
note("list opened, the first time after a start", first);
note("list opened again", opened);
note("found by two words", found);
note("14 more rows", more);

console.log(`${jobs} jobs, ${(made.bytes / 1e6).toFixed(1)} MB; ${made.full} of them not in the first store (full); index ${(index / 1e3).toFixed(0)} kB; processor slowed ${SLOWER} times; milliseconds`);
console.table(rows);
await browser.close();
await server.stop?.();
process.exit(0);
