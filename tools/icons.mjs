// Draws the PNG icons from the two SVG files beside them. Run by hand after a change to a drawing; the PNGs are
// committed, so that building the app needs no browser.
//
//   node tools/setup.mjs test && node tools/icons.mjs

import { readFileSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { root } from "./paths.mjs";

const { chromium } = createRequire(import.meta.url)("playwright-core");
const folder = join(root, "public", "icons");

// The touch icon is a full square too: the phone rounds the corners itself and shows transparent ones black.
const PICTURES = [
  ["icon.svg", "icon-192.png", 192],
  ["icon.svg", "icon-512.png", 512],
  ["maskable.svg", "maskable-512.png", 512],
  ["maskable.svg", "apple-touch-icon.png", 180],
];

const browser = await chromium.launch({ executablePath: process.env.CHROMIUM || "/usr/bin/chromium", args: ["--no-sandbox"] });
try {
  for (const [drawing, picture, size] of PICTURES) {
    const page = await browser.newPage({ viewport: { width: size, height: size } });
    const svg = readFileSync(join(folder, drawing), "utf8");
    await page.setContent(`<style>body{margin:0}svg{display:block;width:${size}px;height:${size}px}</style>${svg}`);
    writeFileSync(join(folder, picture), await page.screenshot({ omitBackground: true }));
    await page.close();
  }
} finally {
  await browser.close();
}
