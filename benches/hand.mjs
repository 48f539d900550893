// What a hand with a slow phone waits for, measured in real browsers and printed as one table. Figures for a person to read, so
// no test: make measure, or on the dist/ that is there
//
//   node benches/hand.mjs [rounds] [part …]     parts: bytes cold offline keys lighthouse; without any, all of them
//
// The processor is slowed down by Chromium itself, which slows the page's own thread; workers, the network and the painting in
// other processes run as fast as the machine lets them. A median over rounds; on a machine that others use too, times are too long.

import { spawnSync } from "node:child_process";
import { existsSync, mkdtempSync, rmSync, statSync } from "node:fs";
import { createRequire } from "node:module";
import { availableParallelism, cpus, loadavg, tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { dist, root } from "../tools/paths.mjs";
import { serve } from "../tools/serve.mjs";
import { openCard, openDemo, jobOf, onScreen } from "../tests/journey/app.mjs";
import { started } from "../tests/journey/kill.mjs";
import { ARGS, BROWSER, PATIENCE_MS, untilDrawn, untilOffline } from "../tests/journey/lib.mjs";

const require = createRequire(join(root, "tools", "package.json"));
const { chromium } = require("playwright-core");

const PARTS = ["bytes", "cold", "offline", "keys", "lighthouse"];
const rounds = Number(process.argv[2] ?? 5);
const wanted = process.argv.length > 3 ? process.argv.slice(3) : PARTS;
for (const part of wanted) if (!PARTS.includes(part)) throw new Error(`no such part: ${part}; there are ${PARTS.join(", ")}`);

/** A phone of the middle class beside a desk's processor (Lighthouse's mobile preset, core/config/constants.js). */
const SLOWER = 4;
/** The same preset's line: 150 ms there and back, 1.6 Mbit/s down, 0.75 up. */
const LINE = { offline: false, latency: 150, downloadThroughput: (1.6 * 1024 * 1024) / 8, uploadThroughput: (750 * 1024) / 8 };
const PHONE = { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true };

/** How long a finger lies on the glass (common practice, no source). */
const FINGER_MS = 80;

/** Between two rounds, so that what comes behind a picture, as the causes do, is mostly no part of the next (common practice, no source). */
const BEHIND_MS = 300;

const rows = [];
const sorted = (list) => [...list].sort((a, b) => a - b);
const median = (list) => sorted(list)[Math.floor(list.length / 2)];
const note = (what, figure, more = "") => {
  rows.push([what, figure, more]);
  console.log(`${what.padEnd(64)} ${figure.padStart(16)}  ${more}`);
};
/**
 * By the clock; and what the page's own thread was busy, slowing included and with what it went on with after the frame, which says
 * nearly the same on a machine that others use too.
 */
const noteMs = (what, list, busy, more = "") => {
  const range = `${Math.min(...list).toFixed(0)} to ${Math.max(...list).toFixed(0)} ms, of ${list.length}`;
  const said = [range, busy ? `thread busy ${median(busy).toFixed(0)} ms` : "", more].filter(Boolean);
  note(what, `${median(list).toFixed(0)} ms`, said.join("; "));
};

/** The same work each time, ms: on a machine that others use too it tells how fast the minute is in which a figure was taken. */
async function fixedSum(page) {
  const once = () => page.evaluate(() => {
    const began = performance.now();
    let sum = 0;
    for (let i = 0; i < 2e7; i += 1) sum = (sum + i * 7) | 0;
    return sum === 1 ? Number.NaN : performance.now() - began;
  });
  const list = [];
  for (let round = 0; round < 5; round += 1) list.push(await once());
  return median(list);
}

/** Has Chromium count what the page's thread is busy: a function that says it, ms. */
async function clockOfThread(client) {
  await client.send("Performance.enable", { timeDomain: "threadTicks" });
  return async () => (await client.send("Performance.getMetrics")).metrics.find(({ name }) => name === "TaskDuration").value * 1000;
}

const folders = [];
function tempProfile() {
  folders.push(mkdtempSync(join(tmpdir(), "sixty-ohms-")));
  return folders.at(-1);
}
process.on("exit", () => folders.forEach((folder) => rmSync(folder, { recursive: true, force: true, maxRetries: 5 })));

const open = async (profile = tempProfile()) => {
  const browser = await chromium.launchPersistentContext(profile, { executablePath: BROWSER, args: ARGS, ...PHONE });
  browser.setDefaultTimeout(6 * PATIENCE_MS);
  return browser;
};

/** Bytes of a file as it is sent. */
const sent = (name) => {
  const path = join(dist, name === "" ? "index.html" : name);
  return statSync(existsSync(`${path}.br`) ? `${path}.br` : path).size;
};

/**
 * Says when the first heading of the app stands in a frame that was painted. Nothing is evaluated meanwhile: what a driver puts
 * into a page to wait for something takes a slowed processor as long as a part of the start itself.
 */
const watchStart = () => {
  const look = () => {
    if (document.querySelector("main h1")) setTimeout(() => window.usable(String(performance.now())));
    else requestAnimationFrame(look);
  };
  requestAnimationFrame(look);
};

/** Starts the app in a new tab, slowed from before its first byte: { paint, usable } in ms from the touch on the link. */
async function startOf(browser, url, { slower = 1, line = null } = {}) {
  const page = await browser.newPage();
  const client = await browser.newCDPSession(page);
  const busy = await clockOfThread(client);
  if (slower > 1) await client.send("Emulation.setCPUThrottlingRate", { rate: slower });
  if (line) {
    await client.send("Network.enable");
    await client.send("Network.emulateNetworkConditions", line);
  }
  await client.send("Runtime.enable");
  await client.send("Runtime.addBinding", { name: "usable" });
  const said = new Promise((done) => client.once("Runtime.bindingCalled", ({ payload }) => done(Number(payload))));
  await page.addInitScript(watchStart);
  await page.goto(url, { waitUntil: "commit" });
  const usable = await said;
  const thread = await busy();
  const paint = await page.evaluate(() => performance.getEntriesByName("first-contentful-paint")[0]?.startTime ?? Number.NaN);
  return { page, times: { paint, usable, busy: thread } };
}

async function bytes() {
  const all = [];
  const server = await serve({ intercept: (request, response, name) => { all.push(name); return false; } });
  const browser = await open();
  const page = await browser.newPage();
  // What had come by then, and for the page alone: what is fetched ahead, or stored by the worker, may be on its way already.
  const ofPage = [];
  page.on("requestfinished", (request) => ofPage.push(new URL(request.url()).pathname.slice(1)));
  let needed = null;
  await page.exposeBinding("usable", () => { needed ??= [...ofPage]; });
  await page.addInitScript(() => {
    const watch = new MutationObserver(() => {
      if (!document.querySelector("main h1")) return;
      watch.disconnect();
      window.usable();
    });
    watch.observe(document, { subtree: true, childList: true });
  });
  await page.goto(server.url, { waitUntil: "commit" });
  await untilOffline(page, "ready");
  const kB = (names) => `${(names.reduce((total, name) => total + sent(name), 0) / 1000).toFixed(1)} kB`;
  const list = needed.map((name) => `${name.replace(/-[0-9a-f]{16}/, "") || "index.html"} ${kB([name])}`).join(", ");
  note("first visit, until the first screen can be used, brotli", kB(needed), `${needed.length} requests: ${list}`);
  note("first visit, until all is stored, brotli", kB(all), `${all.length} requests`);
  await browser.close();
  await server.stop();
}

async function cold() {
  const server = await serve();
  for (const [what, how] of [
    ["cold", {}],
    [`cold, processor ${SLOWER} times slower`, { slower: SLOWER }],
    [`cold, processor ${SLOWER} times slower, 1.6 Mbit/s, 150 ms`, { slower: SLOWER, line: LINE }],
  ]) {
    const list = [];
    for (let round = 0; round < rounds; round += 1) {
      const browser = await open();
      list.push((await startOf(browser, server.url, how)).times);
      await browser.close();
    }
    noteMs(`${what}: first paint`, list.map(({ paint }) => paint));
    noteMs(`${what}: first screen can be used`, list.map(({ usable }) => usable), list.map(({ busy }) => busy));
  }
  await server.stop();
}

async function offline() {
  for (const [what, prepare] of [["", null], [", a job kept", (page) => openDemo(page, "Otter")]]) {
    const server = await serve();
    const profile = tempProfile();
    const first = await open(profile);
    const page = await first.newPage();
    await page.goto(server.url);
    await untilOffline(page, "ready");
    await prepare?.(page);
    await page.waitForTimeout(1000); // longer than the app takes to keep a change (craft: 300 ms)
    await first.close();
    await server.stop();
    for (const slower of [1, SLOWER]) {
      const list = [];
      for (let round = 0; round < rounds; round += 1) {
        const browser = await open(profile);
        const { page, times } = await startOf(browser, server.url, { slower });
        if (!(await page.evaluate(() => navigator.serviceWorker.controller))) throw new Error("no worker has this page");
        list.push(times);
        await browser.close();
      }
      const how = `new browser, no server${slower > 1 ? `, processor ${slower} times slower` : ""}${what}`;
      noteMs(`${how}: first paint`, list.map(({ paint }) => paint));
      noteMs(`${how}: first screen can be used`, list.map(({ usable }) => usable), list.map(({ busy }) => busy));
    }
  }
}

/** The largest site that the app takes: 64 modules (MOST_MODULES), eight strings of eight, each module with its own figures. */
const LARGEST = 8;
async function largestJob(page) {
  await openDemo(page, "Otter");
  await openCard(page, "volts");
  // A quiet bus, without which no reading of ohms is held against it.
  for (const [index, text] of ["0.001", "0.02", "0.01"].entries()) await page.locator(".ask input").nth(index).fill(text);
  await page.locator(".foot .primary").click();
  await page.locator(".finding").nth(2).waitFor();
  await page.locator('.kept[data-kept="kept"]').or(page.locator("main h1")).first().waitFor();
  // Longer than the app takes to keep a change (craft: 300 ms).
  await page.waitForTimeout(1000);
  const job = jobOf(page);
  const base = page.url().split("#")[0];
  // The app's own tab is left first, so that it writes nothing over it.
  await page.goto(`${base}manifest.webmanifest`);
  await page.evaluate(async ([job, side]) => {
    const text = JSON.parse(localStorage.getItem(`ohms.job.${job}`));
    Object.assign(text.job.site, { series: side, parallel: side });
    Object.assign(text.job.site.module, { "most-in-series": side, "most-in-parallel": side });
    const bank = { way: "singly", soh: "100" };
    for (let n = 1; n <= side * side; n += 1) {
      Object.assign(bank, {
        [`m${n}-soc`]: String(70 + (n % 9)), [`m${n}-voltage`]: `13.${20 + (n % 7)}`, [`m${n}-current`]: "-5",
        [`m${n}-lowest`]: "3.30", [`m${n}-highest`]: "3.33", [`m${n}-temperature`]: String(18 + (n % 5)), [`m${n}-answers`]: "yes",
      });
    }
    Object.assign(text.job, { bank, bank_at: Date.now() });
    text.rev += 1;
    text.writes = [];
    const whole = JSON.stringify(text);
    localStorage.setItem(`ohms.job.${job}`, whole);
    const database = await new Promise((done, failed) => {
      const request = indexedDB.open("ohms");
      request.onsuccess = () => done(request.result);
      request.onerror = () => failed(request.error);
    });
    await new Promise((done) => {
      const transaction = database.transaction("jobs", "readwrite");
      transaction.objectStore("jobs").put(whole, job);
      transaction.oncomplete = done;
    });
    database.close();
  }, [job, LARGEST]);
  await page.goto(`${base}#/job/${job}`);
  await untilDrawn(page);
  await page.locator(".next .primary").waitFor(); // a site that is not whole has no cards
  return job;
}

/** From the browser's own time of the next key or touch to the frame that shows what it has changed, painted: { clock, busy }, ms. */
async function untilShown(page, act, selector, event, busy) {
  await page.evaluate(([selector, event]) => {
    window.shown = new Promise((done, failed) => {
      setTimeout(() => failed(new Error(`nothing changed in ${selector}`)), 60_000);
      let began = null;
      addEventListener(event, (happened) => { began ??= happened.timeStamp; }, { capture: true, once: true });
      const before = document.querySelector(selector)?.textContent ?? null;
      const watch = new MutationObserver(() => {
        const now = document.querySelector(selector)?.textContent ?? null;
        if (began === null || now === null || now === before) return;
        watch.disconnect();
        // What comes after the frame: by then it has been laid out and handed to be painted. Before all else that waits, so
        // that the driver's own questions and the app's timers are not counted.
        requestAnimationFrame(() => {
          scheduler.postTask(() => done(performance.now() - began), { priority: "user-blocking" });
        });
      });
      watch.observe(document.body, { subtree: true, childList: true, characterData: true, attributes: true });
    });
  }, [selector, event]);
  const before = await busy();
  await act();
  const clock = await page.evaluate(() => window.shown);
  return { clock, busy: (await busy()) - before };
}

async function keys() {
  const server = await serve();
  const browser = await open();
  const first = await browser.newPage();
  await first.goto(server.url);
  await untilDrawn(first);
  const job = await largestJob(first);
  // A page that never saw a mouse, as on a phone: a browser looks anew what lies under a mouse after each change.
  const page = await browser.newPage();
  await page.goto(`${server.url}#/job/${job}`);
  await untilDrawn(page);
  await first.close();
  const client = await browser.newCDPSession(page);
  await client.send("Emulation.setCPUThrottlingRate", { rate: SLOWER });
  const busy = await clockOfThread(client);
  const shownAfter = (act, selector, event) => untilShown(page, act, selector, event, busy);
  const noteKeys = async (what, list) => {
    noteMs(what, list.map(({ clock }) => clock), list.map(({ busy }) => busy), `a fixed sum ${(await fixedSum(page)).toFixed(0)} ms`);
  };
  const modules = `${SLOWER} times slower, ${LARGEST * LARGEST}`;
  /** A finger: it lies on the glass for a moment, and what it waits for begins when it is lifted. */
  const touched = async (touchPoints) => {
    await client.send("Input.dispatchTouchEvent", { type: "touchStart", touchPoints });
    await page.waitForTimeout(FINGER_MS);
    await client.send("Input.dispatchTouchEvent", { type: "touchEnd", touchPoints: [] });
  };
  const pointOf = async (locator) => {
    await locator.scrollIntoViewIfNeeded();
    const { x, y, width, height } = await locator.boundingBox();
    return [{ x: x + width / 2, y: y + height / 2 }];
  };
  const go = async (rest, title) => {
    await page.evaluate((hash) => { location.hash = hash; }, `#/job/${job}${rest}`);
    await onScreen(page, title);
  };
  /** Puts one text after the other into a field, and has each held by the Enter key. */
  const held = async (field, texts, selector) => {
    const list = [];
    for (const text of texts) {
      await field.fill(text);
      list.push(await shownAfter(() => field.press("Enter"), selector, "keydown"));
      await page.waitForTimeout(BEHIND_MS);
    }
    return list;
  };
  const texts = (of) => Array.from({ length: 2 * rounds }, (_, round) => of(round));
  /** Readings that this bus has not shown before: nothing of them is known. Every other one holds. */
  const ohm = (round) => (round % 2 ? 118 : 60) + (round + 1) / 10;

  await openCard(page, "ohms");
  const ohms = page.locator(".ask input").first();
  await noteKeys(`${modules} modules: Enter to the verdict on ohms`, await held(ohms, texts((round) => ohm(round).toFixed(1)), ".finding"));

  await openCard(page, "count-and-nameplate");
  const count = page.locator(".ask input").first();
  await page.locator(".ask input").nth(1).fill("840");
  await noteKeys(`${modules} modules: Enter to the verdicts on the display`, await held(count, texts((round) => String(64 - (round % 2))), ".finding"));

  await go("/bank", "numbers");
  const shown = page.locator('[id="shown-charge"]');
  const list = [];
  for (let round = 0; round < 2 * rounds; round += 1) {
    await shown.fill(round % 2 ? "610" : "300");
    list.push(await shownAfter(() => shown.press("Tab"), ".bank-display", "keydown"));
  }
  await noteKeys(`${modules} modules: Tab out of the display's charge to its verdict`, list);
  // The bank's own figures: a key in one module's state of charge.
  const soc = page.locator('[id="m1-soc"]');
  const figures = [];
  for (let round = 0; round < 2 * rounds; round += 1) {
    await soc.fill("5");
    await page.waitForTimeout(50);
    figures.push(await shownAfter(() => soc.press(String(1 + (round % 9))), "#bank-result", "keydown"));
  }
  await noteKeys(`${modules} modules: a key in a module's charge to the bank's figures`, figures);

  await go("/ohms", "Ohms, reading by reading");
  const trace = page.locator("#trace-ohms");
  for (const [what, selector] of [["verdict", ".trace-told .finding"], ["causes", ".suspicions"]]) {
    const readings = [];
    for (let round = 0; round < 2 * rounds; round += 1) {
      // The two passes read other figures, which nobody has worked out.
      await trace.fill((ohm(round) + (what === "causes" ? 30 : 15)).toFixed(1));
      readings.push(await shownAfter(() => trace.press("Enter"), selector, "keydown"));
      await page.locator(".suspicions").waitFor();
      await page.locator(".taken").last().getByRole("button").tap();
      await page.waitForTimeout(BEHIND_MS);
    }
    await noteKeys(`${modules} modules: Enter on a new reading to its ${what}`, readings);
  }

  await go("/find", "Find the fault");
  const answer = page.locator(".answers button").first();
  const [keyed, fingered] = [[], []];
  for (let round = 0; round < 2 * rounds; round += 1) {
    // A search ends sooner or later: then as many rounds as there were.
    if ((await answer.count()) === 0) break;
    if (round % 2 === 0) {
      keyed.push(await shownAfter(() => answer.press("Enter"), ".next", "keydown"));
    } else {
      const point = await pointOf(answer);
      fingered.push(await shownAfter(() => touched(point), ".next", "click"));
    }
    await page.waitForTimeout(BEHIND_MS);
  }
  await noteKeys(`${modules} modules: Enter on an answer of the fault finder to the next check`, keyed);
  await noteKeys(`${modules} modules: a finger lifted from one to the next check`, fingered);
  await browser.close();
  await server.stop();
}

/** Lighthouse on one address, once: the scores, the figures behind the speed, and what did not pass. */
async function judged(lighthouse, url, prepare) {
  const { address, kill } = await started(BROWSER, [...ARGS, "--headless", "--remote-debugging-port=0", `--user-data-dir=${tempProfile()}`, "about:blank"], /DevTools listening on (ws:\S+)/);
  try {
    const kept = await prepare?.(address, url);
    const { lhr } = await lighthouse(kept ?? url, {
      port: Number(new URL(address).port),
      logLevel: "error",
      output: "json",
      onlyCategories: ["performance", "accessibility", "best-practices"],
      // What a page needs to be there must stay; what makes it cold was taken away before.
      disableStorageReset: Boolean(kept),
    });
    if (lhr.runtimeError) throw new Error(lhr.runtimeError.message);
    const score = (name) => Math.round(lhr.categories[name].score * 100);
    const lost = (name) =>
      lhr.categories[name].auditRefs
        .map(({ id, weight }) => ({ id, weight, ...lhr.audits[id] }))
        .filter(({ score, weight }) => score !== null && score < 1 && weight > 0)
        .map(({ id, score, weight, displayValue, details }) => {
          const where = (details?.items ?? []).map((item) => item.node?.selector).filter(Boolean).slice(0, 3);
          return `${id} ${displayValue ?? ""} (score ${score.toFixed(2)}, weight ${weight})${where.length > 0 ? ` at ${where.join(" | ")}` : ""}`.replaceAll("\u00a0", " ");
        });
    const items = (id) => lhr.audits[id]?.details?.items ?? [];
    const busy = items("mainthread-work-breakdown").slice(0, 4).map(({ groupLabel, duration }) => `${groupLabel} ${duration.toFixed(0)} ms`);
    const largest = items("largest-contentful-paint-element")[0]?.items?.[0]?.node?.selector ?? "?";
    return {
      performance: score("performance"), accessibility: score("accessibility"), best: score("best-practices"),
      slow: lost("performance"), unreached: lost("accessibility"), other: lost("best-practices"), busy, largest,
    };
  } finally {
    await kill();
  }
}

/** The demo's page, cold: the job is there, the app is not. */
async function coldJob(address, url) {
  const browser = await chromium.connectOverCDP(address);
  const context = browser.contexts()[0];
  const page = await context.newPage();
  await page.goto(url);
  await untilDrawn(page);
  await untilOffline(page, "ready");
  await openDemo(page, "Lark");
  await page.waitForTimeout(1000);
  const there = page.url();
  await page.evaluate(async () => {
    for (const registration of await navigator.serviceWorker.getRegistrations()) await registration.unregister();
    for (const name of await caches.keys()) await caches.delete(name);
  });
  const client = await context.newCDPSession(page);
  await client.send("Network.clearBrowserCache");
  await page.close();
  await browser.close();
  return there;
}

async function lighthousePart() {
  const { default: lighthouse } = await import(pathToFileURL(require.resolve("lighthouse")).href);
  const { version } = require("lighthouse/package.json");
  const server = await serve();
  for (const [name, hash, prepare] of [["home", "", null], ["a demo job", "", coldJob], ["alarms", "#/alarms", null]]) {
    const all = [];
    for (let round = 0; round < rounds; round += 1) all.push(await judged(lighthouse, `${server.url}${hash}`, prepare));
    const of = (key) => all.map((one) => one[key]);
    const middle = all.find(({ performance }) => performance === median(of("performance")));
    note(`Lighthouse ${version}, mobile, ${name}: performance`, String(median(of("performance"))), `${of("performance").join(" ")}; ${middle.slow.join("; ") || "nothing lost"}; largest paint ${middle.largest}; page's thread: ${middle.busy.join(", ")}`);
    note(`Lighthouse ${version}, mobile, ${name}: accessibility`, String(median(of("accessibility"))), middle.unreached.join("; "));
    note(`Lighthouse ${version}, mobile, ${name}: best practices`, String(median(of("best"))), middle.other.join("; "));
  }
  await server.stop();
}

const run = { bytes, cold, offline, keys, lighthouse: lighthousePart };
const said = spawnSync(BROWSER, ["--version"], { encoding: "utf8" }).stdout.trim();
console.log(`${said}; ${availableParallelism()} × ${cpus()[0].model}; load ${loadavg().map((load) => load.toFixed(1)).join(" ")}; ${rounds} rounds\n`);
for (const part of wanted) await run[part]();
console.log(`\nload at the end ${loadavg().map((load) => load.toFixed(1)).join(" ")}`);
process.exit(0);
