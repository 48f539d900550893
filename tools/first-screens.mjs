// Writes tools/parts/*.txt: which functions the first screens run. Run it when a journey says that a screen had to wait
// for a part, or when the first part has grown for no good reason; then build anew.
//
//   node tools/first-screens.mjs
//
// It builds the app with a call at the head of every function, shows the screens to a real browser while the last part
// never comes, and notes what ran. Needs what the journeys need: make setup-test.

import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { assemble, bound, seal } from "./bundle.mjs";
import { LISTS, instrumented, isNamed, listFile, mark } from "./parts.mjs";
import { jobOf, openDemo } from "../tests/journey/app.mjs";
import { ARGS, Site, openBrowser, tempDir, untilDrawn } from "../tests/journey/lib.mjs";

const SETTLE_MS = 2000; // common practice, no source: the timers and stores that a start sets going
const NOTHING = Buffer.from([0, 0x61, 0x73, 0x6d, 1, 0, 0, 0]); // a module without a function

/** What each list is made of: the screens that have to be drawn before the parts after it are here. */
const EMPTY = { first: ["#/"], jobs: ["#/jobs"], alarms: ["#/alarms"] };
const WITH_JOBS = { jobs: ["#/", "#/jobs", "#/job/Lark", "#/job/Otter"], alarms: ["#/alarms"] };
const PHONES = [{ locale: "en-GB" }, { locale: "de-DE" }, { locale: "en-US", timezoneId: "America/Denver" }];

/** What a phone has kept that somebody has used the app on, jobs or not: with it a start looks further. */
const SETTINGS = { look: "dark", hand: "gloves", units: "metric", error: "2026-11-26T10:09 an error", "persist-asked": "yes" };

const { glue, wasm, content } = bound();
const { wasm: telling, names } = instrumented(wasm);
const cleaners = [];
const t = { after: (done) => cleaners.push(done) };
const folder = mkdtempSync(join(tmpdir(), "sixty-ohms-seen-"));
try {
  assemble(folder, { glue, parts: [telling, ...LISTS.map(() => NOTHING)], content });
  seal(folder);
  let hold = false;
  const site = await Site.start(t, { dir: folder, intercept: (_request, _response, name) => hold && /ohms-rest-/.test(name) });

  /** The functions that run until a screen has settled. */
  async function ranOn(browser, address) {
    const page = await browser.newPage();
    page.on("pageerror", (error) => { throw error; });
    await page.goto(address);
    await page.locator("#first").waitFor({ state: "detached" });
    await page.waitForTimeout(SETTLE_MS);
    // What is dropped is cleared away at any time, by functions of its own.
    await page.evaluate(() => window.gc());
    await page.waitForTimeout(SETTLE_MS);
    // Nothing can be fetched any more when the page is put away.
    await page.evaluate(() => {
      Object.defineProperty(document, "visibilityState", { value: "hidden" });
      document.dispatchEvent(new Event("visibilitychange"));
      window.dispatchEvent(new Event("pagehide"));
    });
    await page.waitForTimeout(SETTLE_MS);
    const numbers = await page.evaluate(() => [...window.ran]);
    await page.close();
    return numbers.map((number) => names[number]);
  }

  const ran = Object.fromEntries(LISTS.map((list) => [list, new Set()]));
  for (const phone of PHONES) {
    const browser = await openBrowser(t, tempDir(t), { ...phone, serviceWorkers: "block", args: [...ARGS, "--js-flags=--expose-gc"] });
    await browser.addInitScript(() => {
      window.ran = new Set();
      const real = WebAssembly.instantiateStreaming;
      WebAssembly.instantiateStreaming = (module, imports) =>
        real(module, { ...imports, parts: { ...imports.parts, seen: (number) => window.ran.add(number) } });
    });
    const show = async (screens, jobs) => {
      hold = true;
      for (const [list, addresses] of Object.entries(screens)) {
        for (const screen of addresses) {
          const address = screen.replace(/Lark|Otter/, (demo) => jobs[demo]);
          for (const name of await ranOn(browser, site.url + address)) ran[list].add(name);
          console.log(`${phone.locale} ${screen}: ${list} has ${ran[list].size} functions`);
        }
      }
      hold = false;
    };
    await show(EMPTY);
    const before = await browser.newPage();
    await before.goto(site.url);
    await before.evaluate((settings) => {
      for (const [name, value] of Object.entries(settings)) localStorage.setItem(`ohms.${name}`, JSON.stringify(value));
    }, SETTINGS);
    await before.close();
    await show(EMPTY);
    // Two jobs, so that the screens have something to show.
    const page = await browser.newPage();
    await page.goto(site.url);
    await page.evaluate(() => localStorage.setItem("ohms.tongue", '"en"'));
    const jobs = {};
    for (const demo of ["Lark", "Otter"]) {
      await page.goto(site.url);
      await page.reload();
      await untilDrawn(page);
      await openDemo(page, demo);
      await page.waitForTimeout(SETTLE_MS);
      jobs[demo] = jobOf(page);
    }
    await page.evaluate(() => localStorage.removeItem("ohms.tongue"));
    await page.close();
    await show(WITH_JOBS, jobs);
    await browser.close();
  }
  const known = new Set();
  for (const list of LISTS) {
    const marks = new Set([...ran[list]].filter(isNamed).map(mark).filter((it) => !known.has(it)));
    marks.forEach((it) => known.add(it));
    const head = `# Functions of the part "${list}", by their marks (tools/parts.mjs). Written by tools/first-screens.mjs, not by hand.\n`;
    writeFileSync(listFile(list), `${head}${[...marks].sort().join("\n")}\n`);
  }
} finally {
  for (const clean of cleaners) await clean();
  rmSync(folder, { recursive: true, force: true });
}
