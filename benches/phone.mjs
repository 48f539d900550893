// What a slow phone feels: from a tap or a key to what it shows, in the built app, the processor slowed down four times.
// Figures for a person to read, so no test: node benches/phone.mjs [slowdown]

import { createRequire } from "node:module";
import { join } from "node:path";
import { root } from "../tools/paths.mjs";
import { serve } from "../tools/serve.mjs";
import { ARGS, BROWSER } from "../tests/journey/lib.mjs";

const { chromium } = createRequire(join(root, "tools", "package.json"))("playwright-core");
const slowdown = Number(process.argv[2] ?? 4);

const server = await serve({ port: 0 });
const browser = await chromium.launch({ executablePath: BROWSER, args: ARGS });
const page = await browser.newPage({ viewport: { width: 390, height: 844 } });
const session = await page.context().newCDPSession(page);

async function go(hash) {
  await page.evaluate((hash) => { location.hash = hash; }, hash);
  await page.waitForFunction((hash) => location.hash === hash && document.querySelector("main h1"), hash);
}

const middle = (list) => [...list].sort((a, b) => a - b)[Math.floor(list.length / 2)];
const row = (what, list) => console.log(`${what.padEnd(58)} ${middle(list).toFixed(1).padStart(7)} ms   longest ${Math.max(...list).toFixed(1).padStart(6)} ms   of ${list.length}`);

await page.goto(server.url);
await page.locator("main h1").waitFor();

// In the page: does something, and measures until the tree has changed and nothing waits in the queue of small tasks.
await page.evaluate(() => {
  window.measure = async (act) => {
    const start = performance.now();
    act();
    // Leptos draws in small tasks: a turn of the queue later all of them are through, and no frame was waited for.
    await new Promise((done) => {
      const channel = new MessageChannel();
      channel.port1.onmessage = done;
      channel.port2.postMessage(0);
    });
    return performance.now() - start;
  };
});
await session.send("Emulation.setCPUThrottlingRate", { rate: slowdown });

// The fault finder over the whole model: each answer is taken, and the next check is chosen and drawn.
const answers = [];
for (let story = 0; story < 6; story += 1) {
  await go("#/find");
  await page.locator(".find-now .rows button").nth(story).click();
  for (let n = 0; n < 6; n += 1) {
    if ((await page.locator(".answers button").count()) === 0) break;
    answers.push(await page.evaluate(() => window.measure(() => document.querySelector(".answers button").click())));
  }
  await page.evaluate(() => localStorage.removeItem("ohms.story"));
  await go("#/read");
}
row("fault finder: answer to next check, drawn", answers);

// The check alone, as the app timed it: without the drawing.
const alone = await page.evaluate(() => performance.getEntriesByName("next-check").map((entry) => entry.duration));
row("fault finder: the next check alone", alone.slice(1));

const keys = [];
for (const text of ["lo temp chg", "UV cell", "charging disabled cold", "E 0x0010", "overvoltge"]) {
  await go("#/alarms");
  for (let end = 1; end <= text.length; end += 1) {
    keys.push(await page.evaluate((typed) => {
      const field = document.querySelector(".search input");
      return window.measure(() => {
        field.value = typed;
        field.dispatchEvent(new Event("input", { bubbles: true }));
      });
    }, text.slice(0, end)));
  }
  await go("#/read");
}
row("alarm search: key to ranked list, drawn", keys);
console.log(`(${slowdown} times slowed down; ${await browser.version()})`);
await browser.close();
await server.stop?.();
process.exit(0);
