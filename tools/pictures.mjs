// Draws the README's pictures anew from the built app: docs/job.png, docs/reading.png, and the tour in docs/tour/.
//
//   node tools/pictures.mjs       after make build
//
// Needs what the journeys need: make setup-test. One job, Lark, is led from its first card to its record, and the
// pictures are taken on the way. Each is reduced to as many colours as a palette holds, which halves the file.

import { mkdirSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { enter, go, jobOf, onScreen, openCard, openDemo, tickOn } from "../tests/journey/app.mjs";
import { Site, openBrowser, untilDrawn, untilOffline } from "../tests/journey/lib.mjs";
import { root } from "./paths.mjs";

const sharp = createRequire(join(root, "tools", "package.json"))("sharp");

const SETTLE_MS = 400; // common practice, no source: what moves on a screen has come to rest

const docs = join(root, "docs");
mkdirSync(join(docs, "tour"), { recursive: true });

/** A browser's picture with no more colours than a palette holds. */
const reduced = (png) => sharp(png).png({ palette: true, compressionLevel: 9, effort: 10 }).toBuffer();

// The tour.

const cleaners = [];
const t = { after: (done) => cleaners.push(done) };

/** Takes a picture; scrolled so that an element begins near the top, where one is named. */
async function take(page, name, from) {
  await page.waitForTimeout(SETTLE_MS);
  await page.evaluate(() => document.activeElement?.blur());
  await page.evaluate(() => document.querySelector("main").scrollTo({ top: 0, behavior: "instant" }));
  await from?.evaluate((it) => document.querySelector("main").scrollTo({ top: it.getBoundingClientRect().top - 16, behavior: "instant" }));
  await page.waitForTimeout(SETTLE_MS);
  const png = await reduced(await page.screenshot());
  writeFileSync(join(docs, `${name}.png`), png);
  console.log(`docs/${name}.png: ${png.length} bytes`);
}

async function look(page, name) {
  await go(page, "#/about");
  await onScreen(page, "About");
  await page.locator(`input[name="look"][value="${name}"]`).check({ force: true });
}

const put = (page, id, text) => page.locator(`[id="${id}"]`).fill(text);

try {
  const site = await Site.start(t);
  const browser = await openBrowser(t, undefined, { deviceScaleFactor: 2, locale: "en-GB", timezoneId: "Europe/London" });
  const page = await browser.newPage();
  await page.goto(site.url);
  await untilDrawn(page);
  await untilOffline(page, "ready");
  await take(page, "tour/first");

  // From the loose leads to the meter.
  await openDemo(page, "Lark");
  const job = jobOf(page);
  const strip = page.locator("main .bus-strip").first();
  const back = async (rest = "", heading = "Lark") => {
    await go(page, `#/job/${job}${rest}`);
    await onScreen(page, heading);
  };
  await page.locator(".next .primary").click();
  await page.locator(".page-card").waitFor();
  await tickOn(page);
  await openCard(page, "volts");
  await enter(page, { "Volts, wire H to wire L": "0.001", "Volts, wire H to reference": "0.02", "Volts, wire L to reference": "0.01" });
  await back();
  await take(page, "job");

  // A reading that is wrong, the search that follows, and the same reading afterwards.
  await openCard(page, "ohms");
  await enter(page, { "Ohms, wire H to wire L": "118.6" });
  await page.locator(".finding-fails").waitFor();
  await take(page, "reading", strip);
  await back("/find", "Find the fault");
  for (const answer of ["Nothing of the kind", "Always, or no pattern", "One at each end", "Nothing that anybody knows"]) {
    await page.locator(".answers button", { hasText: answer }).click();
    await page.waitForTimeout(SETTLE_MS);
  }
  await take(page, "tour/find", page.locator(".next").first());
  await take(page, "tour/causes", page.getByRole("heading", { name: "Likeliest causes" }));
  await openCard(page, "ohms");
  await enter(page, { "Ohms, wire H to wire L": "60.3" });
  await page.locator(".finding-holds").first().waitFor();
  await take(page, "tour/ohms", strip);

  // The bank, module by module, against its display.
  await back("/bank", "The bank's numbers");
  for (const [id, text] of Object.entries({ soh: "100", "all-soc": "80", "all-voltage": "13.3", "shown-modules": "2", "shown-capacity": "460", "shown-charge": "368", "shown-soc": "80" })) {
    await put(page, id, text);
    await page.locator(`[id="${id}"]`).blur();
  }
  await take(page, "tour/numbers", page.getByRole("heading", { name: "What the display shows" }));
  await put(page, "shown-modules", "3");
  await put(page, "shown-capacity", "690");
  await put(page, "shown-charge", "552");

  await go(page, "#/alarms");
  await onScreen(page, "Alarms");
  await page.getByLabel("What the display shows").fill("undervolatge cel");
  await page.locator(".results .row-title", { hasText: "Cell voltage low" }).waitFor();
  await take(page, "tour/alarm");

  await back("/record", "Record");
  await take(page, "tour/record", page.getByRole("heading", { name: "Checks", exact: true }));
  await back("/share", "Hand over");
  await page.locator("main svg").first().waitFor();
  await take(page, "tour/hand-over");

  await look(page, "dark");
  await go(page, "#/alarms/cell-voltage-low");
  await onScreen(page, "Cell voltage low");
  await take(page, "tour/dark");
  await look(page, "sun");
  await back();
  await openCard(page, "ohms");
  await take(page, "tour/sun", strip);
} finally {
  for (const clean of cleaners.reverse()) await clean();
}
