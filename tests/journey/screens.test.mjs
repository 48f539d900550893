// Every screen: axe finds nothing, in both looks; nothing scrolls sideways; targets are large enough; back works.

import assert from "node:assert/strict";
import { test } from "node:test";
import { onScreen, openCard, openDemo } from "./app.mjs";
import { Site, axe, openBrowser, troubles, visit } from "./lib.mjs";

const PLAIN = ["#/", "#/jobs", "#/measure", "#/measure/ohms", "#/measure/volts", "#/measure/length", "#/measure/profile", "#/measure/rs485", "#/measure/together", "#/measure/pins", "#/measure/capture", "#/measure/bank", "#/measure/rest", "#/measure/join", "#/measure/sharing", "#/measure/cable", "#/measure/protection", "#/measure/inrush", "#/measure/charger", "#/measure/joint", "#/measure/order", "#/find", "#/alarms", "#/alarms/short-circuit", "#/read", "#/read/why-two-terminators", "#/about", "#/keeping", "#/packs", "#/workbench", "#kAAAAAAAAAAAAAAAAz", "#/parts", "#/open", "#oAAAAAAAAAAAAAAAAz", "#/nowhere", "#/job/none"];

async function go(page, hash) {
  await page.evaluate((hash) => { location.hash = hash; }, hash);
  await page.waitForFunction((hash) => location.hash === hash && document.querySelector("main h1"), hash);
  await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
}

/** Controls that are lower than the house allows, or scroll the page sideways. */
function tooSmall() {
  const small = [];
  for (const element of document.querySelectorAll("main a, main button, main input, main textarea, main summary, .destinations a")) {
    // A link inside a sentence is text; a box or a round mark is as large as its row.
    const target = element.closest("label") ?? element;
    const { height, width } = target.getBoundingClientRect();
    if (width > 0 && height < 55.5) small.push(`${element.tagName} ${element.textContent.trim().slice(0, 40)}: ${height.toFixed(1)} px`);
  }
  if (document.documentElement.scrollWidth > innerWidth) small.push(`scrolls sideways: ${document.documentElement.scrollWidth} px`);
  return small;
}

for (const colorScheme of ["light", "dark"]) {
  test(`every screen, ${colorScheme}`, async (t) => {
    const site = await Site.start(t);
    const browser = await openBrowser(t, undefined, { colorScheme });
    const page = await visit(browser, site.url);
    const trouble = troubles(page);
    await openDemo(page, "Lark");
    const job = page.url().match(/#\/job\/([^/]+)/)[1];
    // A list of the content, and one of the person's own, in use.
    await go(page, `#/job/${job}/lists`);
    await page.getByRole("button", { name: "New bank" }).click();
    await page.locator(".item-card").waitFor();
    await go(page, `#/job/${job}/lists`);
    await page.getByRole("button", { name: "Make one" }).click();
    await page.locator("#own-name").fill("Mine");
    const own = page.url().match(/\/list\/([^/]+)/)[1];
    for (const text of ["One", "Two"]) {
      await page.getByRole("button", { name: "Add an item" }).click();
      await page.locator("#own-text").fill(text);
    }
    await page.locator("#own-asks input").nth(1).check({ force: true });
    const ofJob = ["", "/site", "/site/name", "/site/modules", "/site/monitor", "/site/leads", "/site/terminators", "/site/chargers", "/bank", "/power", "/power/cable", "/power/protection", "/power/inrush", "/power/charger", "/power/joint", "/power/order", "/record", "/notes", "/photos", "/share", "/view", "/lists", "/list/new-bank", "/list/new-bank/share", "/list/own-test", "/list/own-test/edit", "/list/none", "/ohms", "/profile", "/find", "/card/take-along", "/card/polarity", "/card/closing-order", "/card/link.1", "/card/terminator.bank", "/card/reach-pins", "/card/volts", "/card/ohms", "/card/charge", "/card/current", "/card/none"];
    for (const hash of [...PLAIN, ...ofJob.map((rest) => `#/job/${job}${rest.replace("own-test", own)}`)]) {
      for (const [width, height] of [[390, 844], [360, 640], [1280, 800]]) {
        await page.setViewportSize({ width, height });
        await go(page, hash);
        assert.deepEqual(await page.evaluate(tooSmall), [], `${hash} at ${width} px`);
      }
      await page.setViewportSize({ width: 390, height: 844 });
      assert.deepEqual(await axe(page), [], `axe on ${hash}, ${colorScheme}`);
    }
    assert.deepEqual(trouble, []);
  });
}

test("the browser's back goes back, and the heading takes the focus", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, site.url);
  await openDemo(page, "Lark");
  await openCard(page, "volts");
  await onScreen(page, "Measure volts first");
  assert.equal(await page.evaluate(() => document.activeElement.tagName), "H1");
  await page.goBack();
  await onScreen(page, "Lark");
  await page.goBack();
  await onScreen(page, "Jobs");
});
