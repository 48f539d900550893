// The start itself: what a person sees when the wasm is slow, does not come, or stops.

import assert from "node:assert/strict";
import { test } from "node:test";
import { listOf, Site, openBrowser, troubles, visit } from "./lib.mjs";

const wasm = Object.keys(listOf().files).find((path) => /ohms-first-[0-9a-f]+\.wasm$/.test(path)).slice(2);

test("the app starts under its policy without one complaint", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await browser.newPage();
  const wrong = troubles(page);
  const answer = await page.goto(site.url);
  await page.locator("#first").waitFor({ state: "detached" });
  assert.match(answer.headers()["content-security-policy"], /^default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self';/);
  assert.equal(await page.locator("#halt").isVisible(), false);
  assert.deepEqual(wrong, []);

  // The same page from a host that sends no such header is held to the same policy.
  await page.evaluate(() => {
    const script = document.createElement("script");
    script.textContent = "window.ran = true";
    document.head.append(script);
  });
  assert.equal(await page.evaluate(() => "ran" in window), false, "inline script is refused");
  assert.equal(wrong.length > 0, true, "and that is seen by this test");
});

test("a start that takes ten seconds says what to do", async (t) => {
  const site = await Site.start(t, { intercept: (request, response, name) => name === wasm });
  const browser = await openBrowser(t);
  const page = await browser.newPage();
  await page.clock.install();
  await page.goto(site.url, { waitUntil: "commit" });
  await page.locator("#first h1").waitFor();
  await page.waitForFunction(() => window.ohmsOffline);
  await page.clock.runFor(9_000);
  assert.equal(await page.locator("#first-help").isVisible(), false);
  await page.clock.runFor(1_500);
  assert.equal(await page.locator("#first-help").isVisible(), true);
});

test("a start that fails says so at once, and its button loads the page anew", async (t) => {
  const site = await Site.start(t, {
    intercept: (request, response, name) => {
      if (name !== wasm) return false;
      response.writeHead(500).end();
      return true;
    },
  });
  const browser = await openBrowser(t);
  const page = await browser.newPage();
  await page.goto(site.url);
  await page.locator("#first-help").waitFor();
  await site.change({ intercept: undefined });
  await page.locator("#first-reload").click();
  await page.locator("#first").waitFor({ state: "detached" });
});

test("when the wasm stops, the box says so and its button loads the page anew", async (t) => {
  const site = await Site.start(t);
  const page = await visit(await openBrowser(t), site.url);
  const halt = page.locator("#halt");
  const throwLater = (kind) =>
    page.evaluate(async (name) => {
      setTimeout(() => {
        throw name === "Error" ? new Error("not the wasm") : new WebAssembly.RuntimeError("unreachable");
      });
      await new Promise((done) => setTimeout(done, 100));
    }, kind);

  await throwLater("Error");
  assert.equal(await halt.isVisible(), false, "any other mistake is no reason to stop");
  await throwLater("RuntimeError");
  assert.equal(await halt.isVisible(), true);
  await page.evaluate(() => (window.old = true));
  await page.locator("#halt-reload").click();
  await page.waitForFunction(() => !window.old && !document.querySelector("#first"));
  assert.equal(await halt.isVisible(), false);

  await page.evaluate(() => void Promise.reject(new WebAssembly.RuntimeError("unreachable")));
  await halt.waitFor();
  await page.reload();
  await page.waitForFunction(() => window.ohmsHalt);
  await page.evaluate(() => window.ohmsHalt());
  assert.equal(await halt.isVisible(), true);
  assert.equal(await page.evaluate(() => document.activeElement.id), "halt-reload");
});
