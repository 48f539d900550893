// The journeys of a working day in three engines, each with the server stopped as soon as the first visit says that the app is
// stored. Chromium goes the same ways as a control: what fails there too is no matter of the engine.

import assert from "node:assert/strict";
import { existsSync, readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";
import { after, before, describe, test } from "node:test";
import { root } from "../../tools/paths.mjs";
import {
  choose, describeLark, enter, go, goOn, jobOf, kept, onScreen, openCard, openDemo, primary, seeOneTerminator, tickOn, touch, type, verdicts, voltageHolds,
} from "./app.mjs";
import { ENGINES, openEngine } from "./engines.mjs";
import { PATIENCE_MS, Site, listOf, lookForNew, markOf, nextVersion, tempDir, until, untilDrawn, untilOffline, visit } from "./lib.mjs";

/** Until what an engine lacks must be said: longer than a browser takes to list its voices (common practice, no source). */
const SAID_MS = 1500;

// One next version for all engines: putting it together takes a while.
let next;
const undo = [];
before(() => { next = nextVersion({ after: (step) => undo.push(step) }, "next"); });
after(async () => { for (const step of undo) await step(); });

const plain = (text) => text.replaceAll("\u00a0", " ");
const said = (page, selector = "main") => page.locator(selector).innerText().then(plain);
/** Types into a field by its id, where several fields have one label. */
const put = (page, id, text) => page.locator(`[id="${id}"]`).fill(text);
const stored = (page) => page.locator('.kept[data-kept="kept"]').waitFor();

/** The app from its store: a first visit, then nobody listens any more, and the page is loaded anew. */
async function offlineIn(t, engine, profile = tempDir(t)) {
  const site = await Site.start(t);
  const browser = await openEngine(t, engine, profile);
  const page = await visit(browser, site.url);
  await untilOffline(page, "ready");
  await site.stop();
  await assert.rejects(fetch(site.url), "the server is really gone");
  await page.reload();
  await untilDrawn(page);
  return { site, browser, page };
}

async function openAt(page, hash, title) {
  await go(page, hash);
  await onScreen(page, title);
}

/** The file that the app has given away, when it has arrived whole. */
async function arrived(browser, ending) {
  const end = Date.now() + PATIENCE_MS;
  for (;;) {
    const names = existsSync(browser.downloads) ? readdirSync(browser.downloads) : [];
    const path = names.filter((name) => name.endsWith(ending)).map((name) => join(browser.downloads, name))[0];
    if (path && readFileSync(path).length > 0) return path;
    if (Date.now() > end) throw new Error(`no ${ending} came, only ${names}`);
    await new Promise((done) => setTimeout(done, 50));
  }
}

const jobsIn = async (page) => Object.values((await kept(page)).local).map((text) => JSON.parse(text).job);
const atJob = (page) => until(page, () => /^#\/job\/[^/]+$/.test(location.hash));

/** A job of one's own with notes, kept. */
async function ownJob(page, name, notes) {
  await openAt(page, "#/jobs", "Jobs");
  await touch(page, "Begin a job");
  await onScreen(page, "Name");
  await type(page, "Name of the site", name);
  const job = jobOf(page);
  await openAt(page, `#/job/${job}/notes`, "Notes");
  await type(page, "Notes for the next person", notes);
  await stored(page);
  return job;
}

const JOURNEYS = {
  "a cold start": async (t, engine) => {
    const profile = tempDir(t);
    const { site, browser } = await offlineIn(t, engine, profile);
    await browser.close();
    const later = await openEngine(t, engine, profile);
    const page = await visit(later, site.url);
    assert.deepEqual(await untilOffline(page, "ready"), { state: "ready", version: listOf().version });
    await page.getByText("Ready without signal").waitFor();
  },

  "the Lark demo to its proven bus, its numbers and its record": async (t, engine) => {
    const { page } = await offlineIn(t, engine);
    await openDemo(page, "Lark");
    await page.locator(".next .primary").click();
    await onScreen(page, "Lay out everything");
    await tickOn(page);
    await onScreen(page, "Measure volts first");
    await enter(page, { "Volts, wire H to wire L": "0,001", "Volts, wire H to reference": "0,02", "Volts, wire L to reference": "-0,01" });
    await until(page, () => document.querySelectorAll(".badge-holds").length === 3);
    await primary(page).click();
    await onScreen(page, "Measure ohms");
    await enter(page, { "Ohms, wire H to wire L": "118,6" });
    await page.getByText("what one terminator reads").waitFor();
    assert.deepEqual(await verdicts(page), ["Fails"]);
    await enter(page, { "Ohms, wire H to wire L": "60,4 Ω" });
    await page.getByText("what this bus may read").waitFor();
    assert.deepEqual(await verdicts(page), ["Holds"]);
    await goOn(page);
    await tickOn(page);
    await onScreen(page, "how many modules answer");
    await enter(page, { "How many modules answer?": "3", "Nameplate capacity shown": "690 Ah" });
    await until(page, () => document.querySelectorAll(".badge-holds").length === 2);
    await primary(page).click();
    await onScreen(page, "state of charge");
    await choose(page, "Has each module been charged full", "Not yet");
    await enter(page, { "State of charge shown": "80", "Remaining charge shown": "552" });
    await until(page, () => document.querySelectorAll(".badge-holds").length === 2);
    await voltageHolds(page);
    await choose(page, "With the load on", "Out of the bank");
    await page.getByText("the sign is right").waitFor();
    await goOn(page);
    await tickOn(page);
    await onScreen(page, "Lark");
    await touch(page, /^Record/);
    await onScreen(page, "Record");
    const record = await said(page);
    for (const text of ["60.4 Ω", "690 Ah", "13.3 V", "Not yet calibrated", "Earlier readings", "118.6", "AN96116"]) {
      assert.ok(record.includes(text), `${text} is not in the record`);
    }
  },

  "ohms by hand": async (t, engine) => {
    const { page } = await offlineIn(t, engine);
    await openAt(page, "#/measure/ohms", "Ohms");
    // Touches and keys are the browser's own in every engine.
    await page.evaluate(() => {
      window.events = [];
      for (const kind of ["click", "keydown"]) addEventListener(kind, ({ isTrusted }) => window.events.push(`${kind} ${isTrusted}`), true);
    });
    await primary(page).click();
    await until(page, () => /\.$/.test(document.querySelector("#trace-ohms-error").innerText));
    await type(page, "The meter's reading", "60,3 Ω");
    await primary(page).click();
    await page.locator(".finding-holds").waitFor();
    assert.equal(await page.locator(".suspicion .row-title").first().innerText(), "Nothing wrong that ohms can show");
    // What to measure next comes a moment later, and moves what stands below it.
    await until(page, () => /tells most|would tell much/.test(document.querySelector(".trace-why").textContent));
    await page.locator(".taken").getByRole("button").click();
    await until(page, () => !document.querySelector(".taken"));
    await type(page, "The meter's reading", "121");
    await page.locator("#trace-ohms").press("Enter");
    await page.locator(".finding-fails").waitFor();
    await page.locator(".suspicion", { hasText: "One terminator missing" }).waitFor();
    assert.deepEqual([...new Set(await page.evaluate(() => window.events))].sort(), ["click true", "keydown true"]);
  },

  "a bank's numbers by hand": async (t, engine) => {
    const { page } = await offlineIn(t, engine);
    await openAt(page, "#/measure/bank", "numbers");
    for (const [id, text] of Object.entries({ parallel: "1", series: "2", capacity: "100 Ah", nominal: "12,8", soh: "100" })) await put(page, id, text);
    await page.locator('#way input[value="singly"]').check();
    await put(page, "m1-soc", "80");
    await put(page, "m1-voltage", "13,3");
    await touch(page, "Next module");
    await page.getByRole("heading", { name: "Module 2 of 2" }).waitFor();
    await touch(page, "Same as above");
    await put(page, "m2-soc", "60 %");
    // 80 % and 60 % in series: the weaker one limits both ways (as in bank.test.mjs).
    await until(page, () => /75\s%/.test(document.querySelector(".headline").innerText));
    const result = await said(page, "#bank-result");
    for (const text of ["100 Ah", "60 Ah", "26.6 V"]) assert.ok(result.includes(text), `${text} is not in ${result}`);
  },

  "an alarm by a misspelt search": async (t, engine) => {
    const { page } = await offlineIn(t, engine);
    await touchDestination(page, "Alarms");
    await onScreen(page, "Alarms");
    await page.getByLabel("What the display shows").pressSequentially("undervolatge cell");
    await page.locator(".results .row-title", { hasText: "Cell voltage low" }).waitFor();
    assert.equal(await page.locator(".results .row-title").first().innerText(), "Cell voltage low");
    await touch(page, "Cell voltage low");
    await onScreen(page, "Cell voltage low");
    const entry = await said(page);
    for (const part of ["First", "What it means", "What not to do", "When to stop"]) assert.ok(entry.includes(part), part);
  },

  "the fault finder to a named cause, and its repair": async (t, engine) => {
    const { page } = await offlineIn(t, engine);
    await seeOneTerminator(page);
    await openAt(page, `#/job/${jobOf(page)}/find`, "Find the fault");
    await page.locator(".suspicion").first().waitFor();
    // What this person sees: nothing dangerous, and no terminator in the socket at the bank's free end.
    const sees = ["None at the bank's end"];
    const asked = [];
    while (asked.length < 12 && !(await page.getByText("Repair this first").isVisible())) {
      asked.push(await page.locator(".next .next-action").innerText());
      const told = await page.locator(".find-now ol > li").count();
      const answers = await page.locator(".answers button").allInnerTexts();
      const seen = answers.findIndex((text) => sees.some((one) => text.startsWith(one)));
      await page.locator(".answers button").nth(Math.max(0, seen)).click();
      await until(page, (told) => document.querySelectorAll(".find-now ol > li").length > told, told);
    }
    assert.match(await said(page, ".next"), /Repair this first[\s\S]*No terminator at the bank's free end/, asked.join("; "));
    await touch(page, "Repaired: go on to prove it");
    await page.getByText("Repaired: No terminator at the bank's free end").waitFor();
    t.diagnostic(`asked: ${asked.join("; ")}`);
  },

  "a checklist gone by": async (t, engine) => {
    const { page } = await offlineIn(t, engine);
    await openDemo(page, "Lark");
    await openAt(page, `#/job/${jobOf(page)}/lists`, "Checklists");
    await touch(page, "New bank");
    await onScreen(page, "New bank");
    await type(page, "Who does the work?", "Ann Berg");
    await touch(page, "That is me");
    await page.getByText("By Ann Berg").waitFor();
    for (const item of ["Make sure that you may do this work here.", "Hold the equipment against the site"]) {
      await page.locator(".item-card h2", { hasText: item }).waitFor();
      await primary(page).click();
    }
    await page.locator(".item-card h2", { hasText: "of one type" }).waitFor();
    // The new card is scrolled to and has the focus a frame later: a touch before that may meet what has moved.
    await until(page, () => document.activeElement.matches(".item-card h2"));
    assert.match(await page.locator(".list-progress").innerText(), /^2 of \d+$/m);
    await page.locator(".item-line", { hasText: "pole to pole, module 1" }).first().click();
    await page.locator(".item-card h2", { hasText: "Volts from pole to pole, module 1" }).waitFor();
    await page.locator(".item-card .entry-large input").fill("13,28");
    await primary(page).click();
    await page.locator(".item-card .finding-holds").waitFor();
  },

  "a job written by hand, kept over a reload and over a killed browser": async (t, engine) => {
    const profile = tempDir(t);
    const { site, browser, page } = await offlineIn(t, engine, profile);
    await describeLark(page);
    const job = jobOf(page);
    await openAt(page, `#/job/${job}/notes`, "Notes");
    await type(page, "Notes for the next person", "Zoë: zweiter Schalter klemmt, 60,4 Ω");
    await stored(page);
    await page.reload();
    await untilDrawn(page);
    await onScreen(page, "Notes");
    assert.equal(await page.locator("#notes").inputValue(), "Zoë: zweiter Schalter klemmt, 60,4 Ω");
    await type(page, "Notes for the next person", "shown as kept, then killed");
    await stored(page);
    await browser.kill();

    const again = await openEngine(t, engine, profile);
    const later = await visit(again, `${site.url}#/job/${job}/notes`);
    await onScreen(later, "Notes");
    assert.equal(await later.locator("#notes").inputValue(), "shown as kept, then killed");
    // IndexedDB alone holds it too.
    assert.equal(JSON.parse((await kept(later)).mirror[job]).job.notes, "shown as kept, then killed");
    await openAt(later, "#/jobs", "Jobs");
    await touch(later, "Lark, by hand");
    await onScreen(later, "Lark, by hand");
  },

  "a job handed over by link, and merged": async (t, engine) => {
    const { site, page: one } = await offlineIn(t, engine);
    const job = await ownJob(one, "Otter's quay", "spare terminator in the left drawer");
    const link = await linkOf(one, job);
    assert.match(link, /^http:\/\/[^#]+#o[A-Za-z0-9_-]+z$/);
    // The other phone sees the app for the first time: by this link.
    await site.start();
    const other = await openEngine(t, engine);
    const two = await visit(other, link);
    await onScreen(two, "Otter's quay");
    assert.deepEqual(await jobsIn(two), [], "nothing is kept before it is asked for");
    await untilOffline(two, "ready");
    await site.stop();
    await touch(two, "Keep it on this phone");
    await atJob(two);
    await openAt(two, `#/job/${job}/notes`, "Notes");
    await type(two, "Notes for the next person", "terminator replaced");
    await stored(two);
    const back = await linkOf(two, job);

    await openAt(one, "#/open", "Bring a job in");
    await type(one, "Link or message", `Done:\n${back}\nbye`);
    await touch(one, "Read it");
    await one.getByText("1 field differs: choose below").waitFor();
    await choose(one, "Notes", "Both");
    await touch(one, "Merge into mine");
    await atJob(one);
    await until(one, () => Object.values(localStorage).some((text) => text.includes("terminator replaced")));
    assert.match((await jobsIn(one))[0].notes, /left drawer[\s\S]*terminator replaced/);
  },

  "a backup made, and brought back on another phone": async (t, engine) => {
    const { site, browser, page } = await offlineIn(t, engine);
    const job = await ownJob(page, "Hütte oben", "second lead is taped");
    await openAt(page, "#/keeping", "Keeping");
    await touch(page, "Make a backup");
    await touch(page, "Save the file");
    const file = await arrived(browser, ".json");
    assert.equal(JSON.parse(readFileSync(file, "utf8")).jobs.find((one) => one.key === job).stored.job.notes, "second lead is taped");

    await site.start();
    const { page: other } = await anotherPhone(t, engine, site);
    await openAt(other, "#/keeping", "Keeping");
    await other.locator('.bring input[type="file"]').setInputFiles(file);
    await other.getByText("1 job comes in").waitFor();
    await touch(other, "Bring it in");
    await other.getByText("Done.").waitFor();
    await openAt(other, `#/job/${job}/notes`, "Notes");
    assert.equal(await other.locator("#notes").inputValue(), "second lead is taped");
  },

  "a pack opened from a file, and used": async (t, engine) => {
    const { page } = await offlineIn(t, engine);
    await openAt(page, "#/packs", "Packs");
    await page.locator('.page-packs input[type="file"]').setInputFiles(join(root, "tests", "packs", "heron.json"));
    await page.locator(".preview", { hasText: "Example Heron Works Heron 150" }).waitFor();
    await touch(page, "Keep it");
    await page.getByText("kept, and in use").waitFor();
    await page.reload();
    await untilDrawn(page);
    await openAt(page, "#/read/heron-lamp", "What the lamp of a Heron 150 says");
    await openAt(page, "#/alarms", "Alarms");
    await page.getByLabel("What the display shows").fill("lid not shut");
    await page.locator(".results .row-title", { hasText: "Lid open" }).waitFor();
  },

  "a cable sized": async (t, engine) => {
    const { page } = await offlineIn(t, engine);
    await openAt(page, "#/measure/cable", "Cable");
    await put(page, "cable.1.current", "150");
    await put(page, "cable.1.length", "2 m");
    await page.locator('[id="cable.1.area"]').selectOption("50");
    await put(page, "cable.1.system", "12,8");
    await page.locator('[id="cable.1.insulation"]').selectOption("90");
    // The worked example of power.test.mjs.
    await page.locator(".finding .badge-holds").waitFor();
    const text = await said(page, ".finding");
    for (const part of ["0.25 V", "2 %", "228 A"]) assert.ok(text.includes(part), `lacks “${part}”: ${text}`);
    await page.locator('[id="cable.1.area"]').selectOption("10");
    await page.locator(".finding .badge-fails").waitFor();
    assert.match(await said(page, ".finding"), /Take 35 mm² or more/);
  },

  "German, chosen without a signal": async (t, engine) => {
    const { page } = await offlineIn(t, engine);
    await openAt(page, "#/about", "About this app");
    await page.getByText("Deutsch", { exact: true }).click();
    // The page loads itself anew.
    await page.waitForFunction(() => document.documentElement.lang === "de" && document.querySelector("main h1"));
    await go(page, "#/measure/ohms");
    await until(page, () => location.hash === "#/measure/ohms" && document.querySelector("#trace-ohms"));
    await page.locator("#trace-ohms").fill("60,3");
    await primary(page).click();
    await page.locator(".finding-holds").waitFor();
    assert.match(await said(page, ".finding"), /60,3 Ω/);
    await page.reload();
    await untilDrawn(page);
    assert.equal(await page.evaluate(() => document.documentElement.lang), "de");
    await page.getByRole("link", { name: "Aufträge", exact: true }).waitFor();
  },

  "two tabs on one job": async (t, engine) => {
    const { site, browser, page: one } = await offlineIn(t, engine);
    const job = await ownJob(one, "Quay 7", "before");
    const two = await visit(browser, `${site.url}#/job/${job}/notes`);
    await onScreen(two, "Notes");
    assert.equal(await two.locator("#notes").inputValue(), "before");
    await type(two, "Notes for the next person", "from the second tab");
    await stored(two);
    await until(one, () => document.querySelector("#notes").value === "from the second tab");
  },

  "a new version while a field is half-typed: it waits for the person": async (t, engine) => {
    const { site, page } = await offlineIn(t, engine);
    await openDemo(page, "Lark");
    await openCard(page, "ohms");
    await type(page, "Ohms, wire H to wire L", "60,");
    await site.start({ dir: next.folder });
    assert.equal(await lookForNew(page), "installed");
    await page.getByText("A new version is ready").waitFor();
    assert.equal(await page.getByLabel("Ohms, wire H to wire L").inputValue(), "60,");
    assert.equal(await markOf(page), "");
    await site.stop();
    await page.getByLabel("Ohms, wire H to wire L").pressSequentially("4");
    await page.getByRole("button", { name: "Change over now" }).click();
    await page.waitForFunction(() => document.querySelector("meta[name=mark]")?.content === "next" && document.querySelector(".page-card"));
    assert.equal(await page.getByLabel("Ohms, wire H to wire L").inputValue(), "60,4");
    assert.deepEqual(await untilOffline(page, "ready"), { state: "ready", version: next.version });
  },

  "what the engine lacks is said": async (t, engine) => {
    const { page } = await offlineIn(t, engine);
    const has = await page.evaluate(() => ({
      codes: "BarcodeDetector" in window,
      promise: Boolean(navigator.storage?.persisted),
    }));
    await openAt(page, "#/open", "Bring a job in");
    // Debian's builds have no detector of codes; where one has, the camera is offered instead.
    await page.getByText(has.codes ? "Scan with the camera" : "This browser does not read codes itself. The phone's camera app does").waitFor();
    await openAt(page, "#/keeping", "Keeping");
    const promise = (sentence) => page.getByText(has.promise ? sentence : "This browser cannot be asked to keep what is stored.").waitFor();
    await promise("The browser is asked to keep what is stored when the first job of your own is saved.");
    const job = await ownJob(page, "Mine", "one");
    await openAt(page, "#/keeping", "Keeping");
    await promise(/has promised to keep what is stored here|was asked to keep what is stored here, and promised nothing/);

    // Not yet so: the assertions stand, each with its reason.
    const says = async (what) => {
      await page.waitForTimeout(SAID_MS);
      assert.match(await said(page), what);
    };
    const without = (of, name) => page.evaluate(`() => void Object.defineProperty(${of}, "${name}", { value: undefined, configurable: true })`);
    await t.test("no share sheet", async () => {
      // None of the three builds has one.
      assert.equal(await page.evaluate(() => "share" in navigator), false);
      await openAt(page, `#/job/${job}/share`, "Hand over");
      await says(/share sheet/i);
    });
    await openDemo(page, "Lark");
    await t.test("a voice that is not there", async () => {
      await openCard(page, "ohms");
      await touch(page, "Read aloud");
      await says(/no voice/);
    });
    await t.test("no speech at all", async () => {
      await without("window", "speechSynthesis");
      await openCard(page, "volts");
      await says(/read aloud|no voice/i);
    });
    await t.test("a screen that cannot be kept on", async () => {
      await without("navigator", "wakeLock");
      await openCard(page, "ohms");
      await says(/screen/i);
    });
  },
};

/** Another phone that has stored the app; the server is stopped again. */
async function anotherPhone(t, engine, site) {
  const browser = await openEngine(t, engine);
  const page = await visit(browser, site.url);
  await untilOffline(page, "ready");
  await site.stop();
  return { browser, page };
}

/** Touches one of the four destinations at the thumb. */
const touchDestination = (page, name) => page.locator(".destinations").getByRole("link", { name, exact: true }).click();

/** The link that the share page shows. */
async function linkOf(page, job) {
  await openAt(page, `#/job/${job}/share`, "Hand over");
  await page.getByText("Show the link").click();
  return (await page.locator(".link-text").innerText()).trim();
}

for (const engine of ENGINES) {
  describe(engine, () => {
    for (const [name, journey] of Object.entries(JOURNEYS)) test(name, (t) => journey(t, engine));
  });
}
