// Every screen: axe finds nothing, in both looks; nothing scrolls sideways; targets are large enough; back works.

import assert from "node:assert/strict";
import { test } from "node:test";
import { onScreen, openCard, openDemo } from "./app.mjs";
import { everyScreen, go } from "./screens.mjs";
import { Site, axe, openBrowser, troubles, visit } from "./lib.mjs";

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
    for (const hash of await everyScreen(page)) {
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
