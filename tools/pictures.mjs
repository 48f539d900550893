// Draws the pictures of the README anew from the built app: docs/job.png and docs/reading.png.
//
//   node tools/pictures.mjs       after make build

import { mkdirSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { root } from "./paths.mjs";
import { serve } from "./serve.mjs";

const { chromium } = createRequire(import.meta.url)("playwright-core");
const docs = join(root, "docs");
mkdirSync(docs, { recursive: true });
const server = await serve({ dir: join(root, "dist") });
const browser = await chromium.launch({ executablePath: process.env.CHROMIUM || "/usr/bin/chromium", args: ["--no-sandbox", "--disable-gpu"] });
const page = await browser.newPage({ viewport: { width: 390, height: 844 }, deviceScaleFactor: 2 });
await page.goto(`${server.url}#/jobs`);
await page.getByRole("button", { name: /Lark/ }).click();
await page.locator(".page-job").waitFor();
const job = page.url().match(/#\/job\/([^/]+)/)[1];
const card = async (key) => {
  await page.evaluate((hash) => { location.hash = hash; }, `#/job/${job}/card/${key}`);
  await page.waitForFunction((key) => document.querySelector(".page-card") && location.hash.endsWith(key), key);
  await page.waitForTimeout(200);
};
// Everything up to the ohms is done, so that the pictures show a job on its way.
for (;;) {
  const next = page.locator(".next .primary");
  if ((await next.count()) > 0) await next.click();
  await page.waitForTimeout(100);
  if ((await page.locator(".ask").count()) > 0) break;
  await page.locator(".foot .primary").click();
  await page.waitForTimeout(100);
}
for (const [index, text] of ["0.001", "0.02", "0.01"].entries()) await page.locator(".ask input").nth(index).fill(text);
await page.locator(".foot .primary").click();
await page.evaluate((hash) => { location.hash = hash; }, `#/job/${job}`);
await page.locator(".page-job").waitFor();
await page.waitForTimeout(300);
await page.screenshot({ path: join(docs, "job.png") });
await card("ohms");
await page.locator(".ask input").fill("118.6");
await page.locator(".foot .primary").click();
await page.locator(".finding").waitFor();
await page.waitForTimeout(300);
await page.screenshot({ path: join(docs, "reading.png") });
await browser.close();
await server.stop();
