// Photos of a job: made smaller on the phone, kept, in the record and in the backup.

import assert from "node:assert/strict";
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { kept, onScreen, openDemo, touch, type } from "./app.mjs";
import { Site, openBrowser, tempDir, until, untilDrawn, visit } from "./lib.mjs";

/** A JPEG of this size as a camera writes it: with a place in its EXIF part, and something to see. */
async function camera(page, folder, name, [width, height]) {
  const base64 = await page.evaluate(async ([width, height]) => {
    const canvas = new OffscreenCanvas(width, height);
    const context = canvas.getContext("2d");
    for (let n = 0; n < 200; n++) {
      context.fillStyle = `hsl(${n * 37 % 360} 60% 50%)`;
      context.fillRect((n * 379) % width, (n * 211) % height, width / 9, height / 9);
    }
    const bytes = new Uint8Array(await (await canvas.convertToBlob({ type: "image/jpeg", quality: 0.95 })).arrayBuffer());
    return btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join(""));
  }, [width, height]);
  const jpeg = Buffer.from(base64, "base64");
  const exif = Buffer.concat([Buffer.from("Exif\0\0MM\0*\0\0\0\x08\0\0\0\0\0\0", "latin1"), Buffer.from("GPS 51.77 N 19.45 E")]);
  const part = Buffer.concat([Buffer.from([0xff, 0xe1, 0, exif.length + 2]), exif]);
  const path = join(folder, name);
  writeFileSync(path, Buffer.concat([jpeg.subarray(0, 2), part, jpeg.subarray(2)]));
  return path;
}

/** All pictures in the store, as { key: bytes in base64 }. */
const pictures = (page) =>
  page.evaluate(async () => {
    const database = await new Promise((done, failed) => {
      const request = indexedDB.open("ohms-photos", 1);
      request.onsuccess = () => done(request.result);
      request.onerror = () => failed(request.error);
    });
    const read = (what) => new Promise((done) => { what.onsuccess = () => done(what.result); });
    const store = database.transaction("photos").objectStore("photos");
    const [keys, values] = await Promise.all([read(store.getAllKeys()), read(store.getAll())]);
    database.close();
    return Object.fromEntries(keys.map((key, n) => [key, btoa(Array.from(values[n], (byte) => String.fromCharCode(byte)).join(""))]));
  });

const take = (page, path) => page.locator('.foot .primary input[type="file"]').setInputFiles(path);
const choose = (page, paths) => page.locator('.foot .quiet input[type="file"]').setInputFiles(paths);
const shown = (page) => page.locator("img.picture");

async function toPhotos(page) {
  await openDemo(page, "Lark");
  await touch(page, "Photos");
  await onScreen(page, "Photos");
  return page.url().match(/#\/job\/([^/]+)/)[1];
}

test("a photo is made smaller, named, kept, in the record and in the backup, and comes back from it", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, site.url);
  const folder = tempDir(t);
  const job = await toPhotos(page);
  const path = await camera(page, folder, "terminator.jpg", [3000, 2000]);
  assert.ok(readFileSync(path).includes("GPS 51.77"));
  assert.equal(await page.locator('.foot .primary input[type="file"]').getAttribute("capture"), "environment");
  await take(page, path);
  await shown(page).waitFor();
  await until(page, () => document.querySelector("img.picture").naturalWidth === 1600);
  assert.equal(await shown(page).evaluate((image) => image.naturalHeight), 1067);
  await type(page, "What it shows", "Terminator at the free end");
  await page.locator('.kept[data-kept="kept"]').waitFor();
  const [[key, base64]] = Object.entries(await pictures(page));
  const jpeg = Buffer.from(base64, "base64");
  assert.ok(!jpeg.includes("Exif") && !jpeg.includes("GPS"), "the place is not kept");
  assert.ok(jpeg.length < readFileSync(path).length);
  const named = JSON.parse((await kept(page)).mirror[job]).job.photos;
  assert.deepEqual(named.map(({ key, shows, width, height, bytes }) => ({ key, shows, width, height, bytes })), [{ key, shows: "Terminator at the free end", width: 1600, height: 1067, bytes: jpeg.length }]);

  await page.reload();
  await untilDrawn(page);
  await until(page, () => document.querySelector("img.picture")?.naturalWidth === 1600);
  await page.evaluate((job) => { location.hash = `#/job/${job}/record`; }, job);
  await page.locator(".record-photo", { hasText: "Terminator at the free end" }).locator("img.picture").waitFor();

  await page.evaluate(() => { location.hash = "#/keeping"; });
  await touch(page, "Make a backup");
  await page.getByText("1 job, 1 photo").waitFor();
  const coming = page.waitForEvent("download");
  await touch(page, "Save the file");
  const file = join(folder, "backup.json");
  await (await coming).saveAs(file);
  assert.deepEqual(JSON.parse(readFileSync(file, "utf8")).photos, [{ key, base64 }]);

  const other = await visit(await openBrowser(t), site.url);
  await other.evaluate(() => { location.hash = "#/keeping"; });
  await onScreen(other, "Keeping");
  await other.locator('.bring input[type="file"]').setInputFiles(file);
  await other.getByText("1 photo comes in").waitFor();
  await touch(other, "Bring it in");
  await other.getByText("Done.").waitFor();
  assert.deepEqual(await pictures(other), { [key]: base64 });
  await other.evaluate((job) => { location.hash = `#/job/${job}/photos`; }, job);
  await until(other, () => document.querySelector("img.picture")?.naturalWidth === 1600);
});

test("a photo that is removed can be had back; one that cannot be read is told; addresses are given back", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  await browser.addInitScript(() => {
    window.open_ = new Set();
    const { createObjectURL, revokeObjectURL } = URL;
    URL.createObjectURL = (blob) => { const made = createObjectURL.call(URL, blob); window.open_.add(made); return made; };
    URL.revokeObjectURL = (address) => { window.open_.delete(address); revokeObjectURL.call(URL, address); };
  });
  const page = await visit(browser, site.url);
  const folder = tempDir(t);
  const job = await toPhotos(page);
  const paths = [];
  for (const [name, size] of [["a.jpg", [400, 300]], ["b.jpg", [300, 400]]]) paths.push(await camera(page, folder, name, size));
  const broken = join(folder, "broken.jpg");
  writeFileSync(broken, "this is no picture");
  await choose(page, [paths[0], broken, paths[1]]);
  await until(page, () => document.querySelectorAll("img.picture").length === 2);
  await page.locator(".error", { hasText: "broken.jpg cannot be read as a picture here" }).waitFor();
  await page.getByLabel("What it shows").first().fill("first");
  await page.getByLabel("What it shows").last().fill("second");
  await page.getByRole("button", { name: "Remove" }).first().click();
  await until(page, () => document.querySelectorAll("img.picture").length === 1);
  assert.equal(await page.getByLabel("What it shows").inputValue(), "second");
  await touch(page, "Have it back");
  await until(page, () => document.querySelectorAll("img.picture").length === 2);
  assert.equal(await page.getByLabel("What it shows").first().inputValue(), "first");
  assert.equal(await page.evaluate(() => window.open_.size), 2);
  await page.evaluate((job) => { location.hash = `#/job/${job}`; }, job);
  await onScreen(page, "Lark");
  await until(page, () => window.open_.size === 0);
});

test("a picture that is not on this phone is said so", async (t) => {
  const site = await Site.start(t);
  const page = await visit(await openBrowser(t), site.url);
  const text = readFileSync(new URL("../stored/v2.json", import.meta.url), "utf8");
  const job = JSON.parse(text).job.id;
  await page.evaluate(([job, text]) => localStorage.setItem(`ohms.job.${job}`, text), [job, text]);
  await page.goto(`${site.url}#/job/${job}/photos`);
  await page.reload();
  await untilDrawn(page);
  await page.getByText("This picture is not on this phone.").waitFor();
  assert.equal(await page.getByLabel("What it shows").inputValue(), "terminator at the bank's end");
});

test("no open tab stands in the way of a change to the databases", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, site.url);
  const folder = tempDir(t);
  await toPhotos(page);
  await take(page, await camera(page, folder, "a.jpg", [400, 300]));
  await shown(page).waitFor();
  const other = await browser.newPage();
  await other.goto(`${site.url}manifest.webmanifest`);
  const newer = await other.evaluate(() => Promise.all(["ohms", "ohms-photos"].map((name) => new Promise((done) => {
    const request = indexedDB.open(name, 2);
    request.onblocked = () => done("blocked");
    request.onsuccess = () => { request.result.close(); done("opened"); };
    request.onerror = () => done("failed");
  }))));
  assert.deepEqual(newer, ["opened", "opened"]);
});
