// The page Keeping: what it says of the store, backups given and brought back, tables, and what is set aside.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { crosscheckPython, root } from "../../tools/paths.mjs";
import { kept, onScreen, openDemo, seeOneTerminator, touch, type } from "./app.mjs";
import { Site, openBrowser, tempDir, until, untilDrawn, visit } from "./lib.mjs";

const DAY = 24 * 60 * 60 * 1000;

const section = (page) => page.locator(".keep-backup");

async function toKeeping(page) {
  await page.evaluate(() => { location.hash = "#/keeping"; });
  await onScreen(page, "Keeping");
}

/** Touches a button and returns the file that comes, as { name, path }. */
async function download(page, button) {
  const coming = page.waitForEvent("download");
  await page.getByRole("button", { name: button }).click();
  const file = await coming;
  return { name: file.suggestedFilename(), path: await file.path() };
}

/** Makes a backup and returns where it lies. */
async function backup(page) {
  await toKeeping(page);
  await touch(page, "Make a backup");
  return download(page, "Save the file");
}

async function openFile(page, path) {
  await page.locator('.bring input[type="file"]').setInputFiles(path);
}

const preview = (page) => page.locator(".preview li").allInnerTexts();

/** A job of one's own, with notes. */
async function ownJob(page, name, notes) {
  await page.evaluate(() => { location.hash = "#/jobs"; });
  await onScreen(page, "Jobs");
  await touch(page, "Begin a job");
  await onScreen(page, "Name");
  await type(page, "Name of the site", name);
  const job = page.url().match(/#\/job\/([^/]+)/)[1];
  await page.evaluate((job) => { location.hash = `#/job/${job}/notes`; }, job);
  await onScreen(page, "Notes");
  await type(page, "Notes for the next person", notes);
  await page.locator('.kept[data-kept="kept"]').waitFor();
  return job;
}

test("a backup brings all jobs to another phone, and a second time changes nothing", async (t) => {
  const site = await Site.start(t);
  const page = await visit(await openBrowser(t), site.url);
  const job = await ownJob(page, "Hütte, \"oben\"", "second lead is taped\n– not clipped");
  await openDemo(page, "Lark");
  await page.evaluate((text) => localStorage.setItem("ohms.job.torn", text), '{"v":2,"rev":1');
  await page.reload();
  await untilDrawn(page);
  const { name, path } = await backup(page);
  assert.match(name, /^sixty-ohms-backup-\d{4}-\d\d-\d\d\.json$/);
  await page.getByText("Every job of your own is in it as it is now").waitFor();
  const file = JSON.parse(readFileSync(path, "utf8"));
  assert.equal(file.jobs.find((one) => one.key === job).stored.job.notes, "second lead is taped\n– not clipped");
  assert.deepEqual(file.set_aside, [{ key: "torn", text: '{"v":2,"rev":1' }]);
  const schema = join(root, "public", "schema", "backup.schema.json");
  // The reference library: it exits with an error for a file that does not keep to the schema.
  const check = "import json,sys,jsonschema\njsonschema.Draft202012Validator(json.load(open(sys.argv[1]))).validate(json.load(open(sys.argv[2])))";
  execFileSync(crosscheckPython().python, ["-c", check, schema, path]);

  const other = await visit(await openBrowser(t), site.url);
  await toKeeping(other);
  await openFile(other, path);
  await other.locator(".preview").waitFor();
  assert.deepEqual(await preview(other), ["2 jobs come in", "1 text that this version cannot read: kept as it is"]);
  assert.deepEqual((await kept(other)).local, {}, "nothing is done before it is asked for");
  await touch(other, "Bring it in");
  await other.getByText("Done.").waitFor();
  await until(other, () => Object.keys(localStorage).filter((key) => key.startsWith("ohms.job.")).length === 3);
  assert.equal(JSON.parse((await kept(other)).mirror[job]).job.notes, "second lead is taped\n– not clipped");
  assert.equal((await kept(other)).mirror.torn, '{"v":2,"rev":1');
  await openFile(other, path);
  await other.getByText("Nothing would change.").waitFor();
  assert.equal(await other.getByRole("button", { name: "Bring it in" }).count(), 0);
  await other.goto(`${site.url}#/job/${job}/notes`);
  await onScreen(other, "Notes");
  assert.equal(await other.inputValue("#notes"), "second lead is taped\n– not clipped");
});

test("a restore destroys nothing: later goes on, older stays out, what parted is kept beside", async (t) => {
  const site = await Site.start(t);
  const page = await visit(await openBrowser(t), site.url);
  const job = await ownJob(page, "Otter", "first");
  const first = await backup(page);
  const write = async (on, notes) => {
    await on.evaluate((job) => { location.hash = `#/job/${job}/notes`; }, job);
    await onScreen(on, "Notes");
    await type(on, "Notes for the next person", notes);
    await on.locator('.kept[data-kept="kept"]').waitFor();
  };
  // Another phone takes it, and goes on.
  const other = await visit(await openBrowser(t), site.url);
  await toKeeping(other);
  await openFile(other, first.path);
  await touch(other, "Bring it in");
  await other.getByText("Done.").waitFor();
  await write(other, "first, then the other phone");
  const second = await backup(other);
  // Back here it goes on from ours.
  await toKeeping(page);
  await openFile(page, second.path);
  await page.locator(".preview").waitFor();
  assert.deepEqual(await preview(page), ["1 job goes on from where yours stands, and replaces it"]);
  await touch(page, "Bring it in");
  await page.getByText("Done.").waitFor();
  // The first backup is older now.
  await openFile(page, first.path);
  await page.getByText("Nothing would change.").waitFor();
  assert.deepEqual(await preview(page), ["1 job is older than yours: yours stays"]);
  // Both phones go on alone: parted.
  await write(page, "this phone");
  await write(other, "that phone");
  const third = await backup(other);
  await toKeeping(page);
  await openFile(page, third.path);
  await page.locator(".preview").waitFor();
  assert.deepEqual(await preview(page), ["1 job differs from yours: both are kept"]);
  await touch(page, "Bring it in");
  await page.getByText("Done.").waitFor();
  await until(page, () => Object.keys(localStorage).filter((key) => key.startsWith("ohms.job.")).length === 2);
  const notes = Object.values((await kept(page)).local).map((text) => JSON.parse(text).job.notes).sort();
  assert.deepEqual(notes, ["that phone", "this phone"]);
  await openFile(page, third.path);
  await page.getByText("Nothing would change.").waitFor();
});

test("files that are no backup are told apart, and nothing changes", async (t) => {
  const site = await Site.start(t);
  const page = await visit(await openBrowser(t), site.url);
  await ownJob(page, "Lark", "mine");
  const { path } = await backup(page);
  const before = await kept(page);
  const whole = readFileSync(path);
  const folder = tempDir(t);
  for (const [name, bytes, sentence] of [
    ["cut.json", whole.subarray(0, whole.length - 40), "its end is missing"],
    ["other.json", '{"a":1}', "a file of something else"],
    ["newer.json", '{"format":"sixty-ohms-backup","version":9}', "made by a newer version"],
    ["bytes.json", Buffer.from([0xff, 0xfe, 0, 1]), "its end is missing"],
    ["empty.json", "", "its end is missing"],
  ]) {
    writeFileSync(join(folder, name), bytes);
    await openFile(page, join(folder, name));
    await page.locator(".bring .error", { hasText: sentence }).waitFor();
  }
  assert.deepEqual(await kept(page), before);
});

test("the share sheet gets the backup as text, and a refusal is told", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  await browser.addInitScript(() => {
    window.given = [];
    navigator.canShare = (data) => data.files.every((file) => file.type === "text/plain" && file.name.endsWith(".txt"));
    navigator.share = async (data) => {
      if (window.refuse) throw new DOMException("closed", "AbortError");
      window.given.push(await data.files[0].text());
    };
  });
  const page = await visit(browser, site.url);
  const job = await ownJob(page, "Lark", "to be shared");
  await toKeeping(page);
  await touch(page, "Make a backup");
  await page.evaluate(() => { window.refuse = true; });
  await touch(page, "Share the file");
  await page.getByText("It was not shared.").waitFor();
  await page.getByText("1 job is in no backup").waitFor();
  await page.evaluate(() => { window.refuse = false; });
  await touch(page, "Share the file");
  await page.getByText("Handed over.").waitFor();
  const [text] = await page.evaluate(() => window.given);
  assert.equal(JSON.parse(text).jobs[0].key, job);
  await page.getByText("Every job of your own is in it as it is now").waitFor();
});

test("the browser is asked once to keep what is stored, for a job of one's own, and its answer is said", async (t) => {
  for (const [answer, sentence] of [[true, "has promised to keep"], [false, "promised nothing"]]) {
    const site = await Site.start(t);
    const browser = await openBrowser(t);
    await browser.addInitScript((answer) => {
      const now = JSON.parse(sessionStorage.getItem("asked") ?? "0");
      StorageManager.prototype.persist = async () => { sessionStorage.setItem("asked", String(Number(sessionStorage.getItem("asked") ?? now) + 1)); return answer; };
      StorageManager.prototype.persisted = async () => answer && Number(sessionStorage.getItem("asked") ?? 0) > 0;
    }, answer);
    const page = await visit(browser, site.url);
    const asked = () => page.evaluate(() => Number(sessionStorage.getItem("asked") ?? 0));
    await openDemo(page, "Lark");
    await page.locator('.kept[data-kept="kept"]').waitFor();
    await toKeeping(page);
    await page.getByText("is asked to keep what is stored when the first job").waitFor();
    assert.equal(await asked(), 0);
    await ownJob(page, "Mine", "one");
    await ownJob(page, "Mine too", "two");
    await toKeeping(page);
    await page.getByText(sentence).waitFor();
    assert.equal(await asked(), 1);
    await page.locator(".facts").getByText("MB in use").waitFor();
    if (!answer) {
      await touch(page, "Ask it again");
      await until(page, () => Number(sessionStorage.getItem("asked")) === 2);
    }
  }
});

test("a backup is called for after three jobs or a week, and the clock may be set back", async (t) => {
  const site = await Site.start(t);
  const page = await visit(await openBrowser(t), site.url);
  const due = page.getByText("Your latest work is in no backup.");
  const toJobs = async () => {
    await page.evaluate(() => { location.hash = "#/jobs"; });
    await onScreen(page, "Jobs");
    // It is looked into when the list has come to rest.
    await page.waitForTimeout(2500);
  };
  const job = await ownJob(page, "One", "a");
  await toJobs();
  assert.equal(await due.count(), 0, "one job, begun today");
  await ownJob(page, "Two", "b");
  await ownJob(page, "Three", "c");
  await toJobs();
  await due.waitFor();
  await backup(page);
  await page.getByText("Every job of your own is in it").waitFor();
  await toJobs();
  assert.equal(await due.count(), 0, "all are in a backup");
  // Eight days later one of them changes; then the clock is set back by a year.
  for (const [offset, count] of [[8 * DAY, 1], [-365 * DAY, 0]]) {
    await page.clock.setFixedTime(Date.now() + offset);
    await page.reload();
    await untilDrawn(page);
    await page.evaluate((job) => { location.hash = `#/job/${job}/notes`; }, job);
    await onScreen(page, "Notes");
    await type(page, "Notes for the next person", `changed ${offset}`);
    await toJobs();
    assert.equal(await due.count(), count);
  }
  // The clock stands in the past, and the latest words are there all the same.
  await page.waitForTimeout(600);
  await page.reload();
  await untilDrawn(page);
  const { local, mirror } = await kept(page);
  assert.equal(JSON.parse(local[job]).job.notes, `changed ${-365 * DAY}`);
  assert.equal(mirror[job], local[job]);
});

test("what is set aside goes out as it lies, to the clipboard and as a file", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t, undefined, { permissions: ["clipboard-read", "clipboard-write"] });
  const page = await visit(browser, site.url);
  const text = '{"v":99,  "rev":1,"from":"the future – ż"}';
  await page.evaluate((text) => localStorage.setItem("ohms.job.newer", text), text);
  await page.goto(`${site.url}#/keeping`);
  await page.reload();
  await untilDrawn(page);
  await touch(page, "Copy it as it is");
  await until(page, async (text) => (await navigator.clipboard.readText()) === text, text);
  const { name, path } = await download(page, "Save it as a file");
  assert.equal(name, "sixty-ohms-set-aside-newer.txt");
  assert.equal(readFileSync(path, "utf8"), text);
});

test("readings come as a table, of one job and of all", async (t) => {
  const site = await Site.start(t);
  const page = await visit(await openBrowser(t), site.url);
  await seeOneTerminator(page);
  const job = page.url().match(/#\/job\/([^/]+)/)[1];
  await page.evaluate((job) => { location.hash = `#/job/${job}/record`; }, job);
  const one = await download(page, "Save the readings as a table");
  assert.match(one.name, /^sixty-ohms-readings-.*\.csv$/);
  const rows = readFileSync(one.path, "utf8").split("\r\n");
  assert.equal(rows[0], "\ufeffjob,time,what,figure,unit,typed,verdict,who,note");
  assert.match(rows[4], /^"Lark, a mobile dental trailer",\d{4}-\d\d-\d\dT[\d:]+Z,.*,118\.6,Ω,118\.6,fails,,$/);
  await toKeeping(page);
  const all = await download(page, "Save the readings of all jobs");
  assert.equal(readFileSync(all.path, "utf8"), readFileSync(one.path, "utf8"));
});

test("a job of version 1 opens, and is written as the present version when it changes", async (t) => {
  const site = await Site.start(t);
  const page = await visit(await openBrowser(t), site.url);
  const text = readFileSync(join(root, "tests", "stored", "v1.json"), "utf8");
  const job = JSON.parse(text).job.id;
  await page.evaluate(([job, text]) => localStorage.setItem(`ohms.job.${job}`, text), [job, text]);
  await page.goto(`${site.url}#/job/${job}/notes`);
  await page.reload();
  await untilDrawn(page);
  await onScreen(page, "Notes");
  assert.equal((await kept(page)).local[job], text, "looked at, and not touched");
  await type(page, "Notes for the next person", "now of version 2");
  await page.locator('.kept[data-kept="kept"]').waitFor();
  const now = JSON.parse((await kept(page)).local[job]);
  assert.deepEqual([now.v, now.rev, now.job.notes, now.job.later.torque[0], now.seal], [2, 28, "now of version 2", 9, "kept as it came"]);
});

test("on an iPhone the tab says that the installed app has its own store, and that one asks for the jobs", async (t) => {
  const site = await Site.start(t);
  const userAgent = "Mozilla/5.0 (iPhone; CPU iPhone OS 18_5 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/18.5 Mobile/15E148 Safari/604.1";
  const tab = await visit(await openBrowser(t, undefined, { userAgent }), site.url);
  await tab.evaluate(() => { location.hash = "#/jobs"; });
  await onScreen(tab, "Jobs");
  assert.equal(await tab.getByText("This is a browser tab.").count(), 0, "nothing to move yet");
  await ownJob(tab, "Lark", "begun in a tab");
  for (const hash of ["#/jobs", "#/about", "#/keeping"]) {
    await tab.evaluate((hash) => { location.hash = hash; }, hash);
    await tab.getByText("This is a browser tab.").waitFor();
  }
  const browser = await openBrowser(t, undefined, { userAgent });
  await browser.addInitScript(() => { navigator.standalone = true; });
  const app = await visit(browser, site.url);
  await app.evaluate(() => { location.hash = "#/jobs"; });
  await app.getByText("Jobs begun in a browser tab are not here").waitFor();
  await ownJob(app, "Otter", "begun in the app");
  await app.evaluate(() => { location.hash = "#/jobs"; });
  await onScreen(app, "Jobs");
  assert.equal(await app.getByText("Jobs begun in a browser tab are not here").count(), 0);
});
