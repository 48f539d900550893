// Every screen, in both looks and three sizes: nothing scrolls sideways, nothing goes wrong; back works. What eyes and hands
// need of a screen is in reach.test.mjs.

import assert from "node:assert/strict";
import { test } from "node:test";
import { everyAddress, go } from "./addresses.mjs";
import { onScreen, openCard, openDemo } from "./app.mjs";
import { Site, openBrowser, troubles, visit } from "./lib.mjs";
import { sideways } from "./seen.mjs";

for (const colorScheme of ["light", "dark"]) {
  test(`every screen, ${colorScheme}`, async (t) => {
    const site = await Site.start(t);
    const browser = await openBrowser(t, undefined, { colorScheme });
    const page = await visit(browser, site.url);
    const trouble = troubles(page);
    for (const hash of await everyAddress(page)) {
      for (const [width, height] of [[390, 844], [360, 640], [1280, 800]]) {
        await page.setViewportSize({ width, height });
        await go(page, hash);
        assert.equal(await page.evaluate(sideways), 0, `${hash} at ${width} px`);
      }
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

test("the page moves between the top and the bar, by keys from the first moment on, and a new screen begins at its top", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, `${site.url}#/alarms`);
  await onScreen(page, "Alarms");
  const at = () => page.evaluate(() => [document.scrollingElement.scrollTop, document.querySelector("main").scrollTop]);
  const edges = await page.evaluate(() => {
    const box = (chosen) => document.querySelector(chosen).getBoundingClientRect();
    return { page: box("main").bottom, bar: box(".destinations").top, end: box(".destinations").bottom, window: innerHeight };
  });
  assert.equal(edges.page, edges.bar, "something of the page lies under the bar");
  assert.equal(edges.end, edges.window);
  await page.keyboard.press("PageDown");
  await page.waitForFunction(() => document.querySelector("main").scrollTop > 300);
  // A browser may move it smoothly, and is not at its end yet.
  await page.waitForTimeout(1000);
  assert.equal((await at())[0], 0, "the window itself moved");
  await go(page, "#/read");
  await onScreen(page, "Read");
  assert.deepEqual(await at(), [0, 0]);
});
