// Draws the README's pictures anew from the built app: docs/job.png, docs/reading.png, and the tour in docs/tour/.
//
//   node tools/pictures.mjs       after make build
//
// Needs what the journeys need: make setup-test. One job, Lark, is led from its first card to its record, and the
// pictures are taken on the way. Each is reduced to as many colours as a palette holds, which halves the file.

import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { deflateSync, inflateSync } from "node:zlib";
import { enter, go, jobOf, onScreen, openCard, openDemo, tickOn } from "../tests/journey/app.mjs";
import { Site, openBrowser, untilDrawn, untilOffline } from "../tests/journey/lib.mjs";
import { root } from "./paths.mjs";

const SETTLE_MS = 400; // common practice, no source: what moves on a screen has come to rest

const docs = join(root, "docs");
mkdirSync(join(docs, "tour"), { recursive: true });

// A PNG with a palette. Formats: W3C, Portable Network Graphics (PNG) Specification, sections 5, 9 and 11.

const SIGNATURE = 8;
const PALETTE = 256;

function chunksOf(png) {
  const chunks = [];
  for (let at = SIGNATURE; at < png.length; ) {
    const length = png.readUInt32BE(at);
    chunks.push({ type: png.toString("latin1", at + 4, at + 8), data: png.subarray(at + 8, at + 8 + length) });
    at += length + 12;
  }
  return chunks;
}

function paeth(left, up, corner) {
  const [a, b, c] = [left, up, corner].map((it) => Math.abs(left + up - corner - it));
  if (a <= b && a <= c) return left;
  return b <= c ? up : corner;
}

/** The points of a browser's picture, { width, height, points }: each its colour as 0xRRGGBB. */
function pointsOf(png) {
  const chunks = chunksOf(png);
  const head = chunks.find(({ type }) => type === "IHDR").data;
  const [width, height] = [head.readUInt32BE(0), head.readUInt32BE(4)];
  const depth = { 2: 3, 6: 4 }[head[9]];
  if (head[8] !== 8 || !depth || head[12] !== 0) throw new Error("the browser writes pictures otherwise than this reads them");
  const bytes = inflateSync(Buffer.concat(chunks.filter(({ type }) => type === "IDAT").map(({ data }) => data)));
  const line = width * depth;
  let above = Buffer.alloc(line);
  const points = new Uint32Array(width * height);
  for (let y = 0; y < height; y += 1) {
    const filter = bytes[y * (line + 1)];
    const row = bytes.subarray(y * (line + 1) + 1, (y + 1) * (line + 1));
    for (let x = 0; x < line; x += 1) {
      const [left, up, corner] = [x < depth ? 0 : row[x - depth], above[x], x < depth ? 0 : above[x - depth]];
      row[x] += [0, left, up, (left + up) >> 1, paeth(left, up, corner)][filter];
    }
    for (let x = 0; x < width; x += 1) points[y * width + x] = row.readUIntBE(x * depth, 3);
    above = row;
  }
  return { width, height, points };
}

/** The palette, the commonest colours first, and each colour's place in it: its own, or that of the nearest. */
function paletteOf(points) {
  const counts = new Map();
  for (const colour of points) counts.set(colour, (counts.get(colour) ?? 0) + 1);
  const palette = [];
  const far = (one, other) => [16, 8, 0].reduce((sum, shift) => sum + (((one >> shift) & 255) - ((other >> shift) & 255)) ** 2, 0);
  const place = new Map();
  // A colour that is nearly there already needs no place of its own, so that the rare ones get theirs.
  for (let apart = 12 ** 2; ; apart /= 2) {
    for (const [colour] of [...counts].sort(([, one], [, other]) => other - one)) {
      if (palette.length === PALETTE) break;
      if (palette.every((it) => far(it, colour) > apart)) palette.push(colour);
    }
    if (palette.length === PALETTE || apart < 1) break;
  }
  for (const colour of counts.keys()) {
    let best = 0;
    palette.forEach((it, index) => { if (far(it, colour) < far(palette[best], colour)) best = index; });
    place.set(colour, best);
  }
  return { palette, place };
}

const TABLE = Uint32Array.from({ length: 256 }, (_, byte) => {
  let value = byte;
  for (let bit = 0; bit < 8; bit += 1) value = value & 1 ? 0xedb88320 ^ (value >>> 1) : value >>> 1;
  return value;
});

function chunk(type, data) {
  const body = Buffer.concat([Buffer.from(type, "latin1"), data]);
  const around = Buffer.alloc(8);
  around.writeUInt32BE(data.length, 0);
  around.writeUInt32BE((body.reduce((sum, byte) => TABLE[(sum ^ byte) & 255] ^ (sum >>> 8), ~0) ^ ~0) >>> 0, 4);
  return Buffer.concat([around.subarray(0, 4), body, around.subarray(4)]);
}

function reduced(png) {
  const { width, height, points } = pointsOf(png);
  const { palette, place } = paletteOf(points);
  const head = Buffer.alloc(13);
  head.writeUInt32BE(width, 0);
  head.writeUInt32BE(height, 4);
  head.set([8, 3], 8);
  const colours = Buffer.alloc(palette.length * 3);
  palette.forEach((colour, index) => colours.writeUIntBE(colour, index * 3, 3));
  const rows = Buffer.alloc((width + 1) * height);
  points.forEach((colour, at) => { rows[at + Math.floor(at / width) + 1] = place.get(colour); });
  return Buffer.concat([
    png.subarray(0, SIGNATURE),
    chunk("IHDR", head),
    chunk("PLTE", colours),
    chunk("IDAT", deflateSync(rows, { level: 9, memLevel: 9 })),
    chunk("IEND", Buffer.alloc(0)),
  ]);
}

// The tour.

const cleaners = [];
const t = { after: (done) => cleaners.push(done) };

/** Takes a picture; scrolled so that an element begins near the top, where one is named. */
async function take(page, name, from) {
  await page.waitForTimeout(SETTLE_MS);
  await page.evaluate(() => document.activeElement?.blur());
  const top = from ? await from.evaluate((it) => it.getBoundingClientRect().top + scrollY) : 0;
  await page.evaluate((top) => scrollTo({ top: Math.max(0, top - 16), behavior: "instant" }), top);
  await page.waitForTimeout(SETTLE_MS);
  const png = reduced(await page.screenshot());
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
