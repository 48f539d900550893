// A log of 1 GB, opened in the built app: how long it takes, how long the page stands still, what memory it needs.
// A figure for a person to read, so no test: node benches/large-log.mjs [MB]

import { closeSync, openSync, rmSync, writeSync } from "node:fs";
import { mkdtempSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createRequire } from "node:module";
import { root } from "../tools/paths.mjs";
import { serve } from "../tools/serve.mjs";
import { ARGS, BROWSER } from "../tests/journey/lib.mjs";

const { chromium } = createRequire(join(root, "tools", "package.json"))("playwright-core");
const megabytes = Number(process.argv[2] ?? 1000);
const folder = mkdtempSync(join(tmpdir(), "ohms-"));
const file = join(folder, "large.log");
const ids = ["19FFFD80", "19FFFC80", "19FEC980", "19FFFB80", "19FEA580", "19FE9591", "18FECA80", "705"];
let block = "";
for (let n = 0; n < 20_000; n += 1) {
  const data = ids[n % 8] === "705" ? "05" : (n * 2654435761 % 2 ** 32).toString(16).padStart(8, "0").toUpperCase() + "FF0A4125";
  block += `(${(1000 + n / 1000).toFixed(6)}) can0 ${ids[n % 8]}#${data}\n`;
}
const out = openSync(file, "w");
let size = 0;
for (; size < megabytes * 1e6; size += block.length) writeSync(out, block);
closeSync(out);

const server = await serve({ port: 0 });
const browser = await chromium.launch({ executablePath: BROWSER, args: ARGS });
const page = await browser.newPage();
await page.goto(`${server.url}#/measure/capture`);
await page.locator("main h1").waitFor();
await page.evaluate(() => {
  window.longest = 0;
  let last = performance.now();
  const tick = () => {
    window.longest = Math.max(window.longest, performance.now() - last);
    last = performance.now();
    setTimeout(tick, 0);
  };
  tick();
});
const start = Date.now();
await page.locator(".foot .file input").setInputFiles(file);
await page.getByRole("button", { name: "Other log" }).waitFor({ timeout: 1_800_000 });
const seconds = (Date.now() - start) / 1000;
const longest = await page.evaluate(() => window.longest);
const heap = await page.evaluate(() => performance.memory?.usedJSHeapSize ?? 0);
const answer = await page.locator("main").innerText();
console.log(`${(size / 1e6).toFixed(0)} MB in ${seconds.toFixed(1)} s (${(size / 1e6 / seconds).toFixed(1)} MB/s); longest standstill ${longest.toFixed(0)} ms; JS heap after ${(heap / 1e6).toFixed(1)} MB`);
console.log(answer.split("\n").slice(0, 8).join(" | "));
await browser.close();
await server.stop?.();
rmSync(folder, { recursive: true });
process.exit(0);
