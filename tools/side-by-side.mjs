// Pictures of two builds side by side: docs/before-after/*.png, one build in the upper row and the other in the lower.
//
//   node tools/side-by-side.mjs earlier/dist dist
//
// Needs what the journeys need: make setup-test. The same screens of the demo job Lark in both, on a phone in three looks, and
// on a tablet and a desk.

import { mkdirSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join, resolve } from "node:path";
import { jobOf, openCard, openDemo } from "../tests/journey/app.mjs";
import { Site, openBrowser, tempDir } from "../tests/journey/lib.mjs";
import { root } from "./paths.mjs";

const sharp = createRequire(join(root, "tools", "package.json"))("sharp");

const SETTLE_MS = 600; // common practice, no source: what moves on a screen has come to rest
const GAP = 16;
const SHEETS = [
  { name: "phone-light", width: 390, height: 844, look: "light", screens: ["home", "job", "ohms", "fails", "find", "trace", "alarms"] },
  { name: "phone-dark", width: 390, height: 844, look: "dark", screens: ["home", "job", "ohms", "fails", "find", "trace", "alarms"] },
  { name: "phone-sun", width: 390, height: 844, look: "sun", screens: ["home", "job", "fails", "bank", "alarms"] },
  { name: "small", width: 360, height: 640, look: "light", screens: ["home", "job", "ohms", "fails", "find", "trace", "alarms"] },
  { name: "tablet", width: 768, height: 1024, look: "light", screens: ["home", "job", "fails"] },
  { name: "desk", width: 1280, height: 800, look: "light", screens: ["home", "fails"] },
];

const [earlier, later] = process.argv.slice(2);
if (!later) throw new Error("two folders are needed: the earlier build, and the later");
const cleaners = [];
const t = { after: (done) => cleaners.push(done) };

/** Pictures of the screens of a sheet, by name. */
async function pictures(dir, { width, height, look, screens }) {
  const site = await Site.start(t, { dir: resolve(dir) });
  const options = { viewport: { width, height }, colorScheme: look === "dark" ? "dark" : "light", locale: "en-GB", timezoneId: "Europe/London" };
  const browser = await openBrowser(t, tempDir(t), options);
  const page = await browser.newPage();
  // An earlier build may come in one part.
  await page.addInitScript((look) => {
    window.ohmsParts ??= { whole: true, early: [] };
    if (look === "sun") localStorage.setItem("ohms.look", '"sun"');
  }, look);
  await page.goto(site.url);
  await page.locator("#first").waitFor({ state: "detached" });
  const taken = {};
  const take = async (name) => {
    if (!screens.includes(name)) return;
    await page.waitForTimeout(SETTLE_MS);
    await page.evaluate(() => document.activeElement?.blur());
    taken[name] = await page.screenshot();
  };
  const go = async (hash) => {
    await page.evaluate((hash) => { location.hash = hash; }, hash);
    await page.waitForTimeout(SETTLE_MS);
  };
  await page.waitForTimeout(2 * SETTLE_MS);
  await take("home");
  await openDemo(page, "Lark");
  const job = jobOf(page);
  await take("job");
  await openCard(page, "volts");
  for (const [index, text] of ["0.001", "0.02", "0.01"].entries()) await page.locator(".ask input").nth(index).fill(text);
  await page.locator(".foot .primary").click();
  await page.locator(".finding").nth(2).waitFor();
  await openCard(page, "ohms");
  await take("ohms");
  await page.locator(".ask input").first().fill("118.6");
  await page.locator(".foot .primary").click();
  await page.locator(".finding-fails").first().waitFor();
  await take("fails");
  await go(`#/job/${job}/find`);
  await page.locator(".answers button").first().click();
  await take("find");
  await go(`#/job/${job}/ohms`);
  await take("trace");
  await go(`#/job/${job}/bank`);
  await take("bank");
  await go("#/alarms");
  await take("alarms");
  await browser.close();
  await site.stop();
  return taken;
}

const to = join(root, "docs", "before-after");
mkdirSync(to, { recursive: true });
try {
  for (const sheet of SHEETS) {
    const { name, width, height, screens } = sheet;
    const rows = [await pictures(earlier, sheet), await pictures(later, sheet)];
    const placed = rows.flatMap((row, y) => screens.map((screen, x) => ({ input: row[screen], left: GAP + x * (width + GAP), top: GAP + y * (height + GAP) })));
    const whole = sharp({ create: { width: GAP + screens.length * (width + GAP), height: GAP + 2 * (height + GAP), channels: 3, background: "#8a8a8a" } });
    const png = await whole.composite(placed).png({ palette: true, compressionLevel: 9, effort: 10 }).toBuffer();
    writeFileSync(join(to, `${name}.png`), png);
    console.log(`docs/before-after/${name}.png: ${png.length} bytes`);
  }
} finally {
  for (const clean of cleaners) await clean();
}
