// A job travels: by link, by code, as a file; nothing is changed before the person says so, nothing is lost.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { test } from "node:test";
import { go, jobOf, kept, onScreen, openCard, openDemo, touch, type } from "./app.mjs";
import { Site, axe, openBrowser, tempDir, until, untilDrawn, untilOffline, visit } from "./lib.mjs";

/** Lark with a reading, a note and an owner. */
async function larkWithNotes(page) {
  await openDemo(page, "Lark");
  const job = jobOf(page);
  await openCard(page, "ohms");
  await type(page, "Ohms, wire H to wire L", "60.4");
  await page.locator(".foot .primary").click();
  await page.locator(".finding").first().waitFor();
  await go(page, `#/job/${job}/notes`);
  await onScreen(page, "Notes and people");
  await type(page, "Notes for the next person", "spare terminator in the left drawer");
  await type(page, "Owner", "Kim Example");
  return job;
}

/** The link that the share page shows, with the named rows touched before. */
async function linkOf(page, job, rows = []) {
  await go(page, "#/read");
  await onScreen(page, "Read");
  await go(page, `#/job/${job}/share`);
  await onScreen(page, "Hand over");
  for (const row of rows) await page.locator(".row", { hasText: row }).click();
  await page.getByText("Show the link").click();
  return (await page.locator(".link-text").innerText()).trim();
}

async function bringIn(page, text) {
  await go(page, "#/open");
  await onScreen(page, "Bring a job in");
  await type(page, "Link or message", text);
  await touch(page, "Read it");
}

const jobsIn = async (page) => Object.values((await kept(page)).local).map((text) => JSON.parse(text).job);

test("a job goes to another phone by a pasted link, without a network", async (t) => {
  const site = await Site.start(t);
  const one = await visit(await openBrowser(t), site.url);
  const two = await visit(await openBrowser(t), site.url);
  await untilOffline(one, "ready");
  await untilOffline(two, "ready");
  await site.stop();
  const job = await larkWithNotes(one);
  const link = await linkOf(one, job);
  assert.match(link, /^http:\/\/[^#]+#o[A-Za-z0-9_-]+z$/);
  assert.deepEqual(await axe(one), []);

  await bringIn(two, `Look at this one please:\n${link}\nthanks`);
  await onScreen(two, "Lark");
  await two.getByText("not on this phone").waitFor();
  await two.getByText("spare terminator in the left drawer").waitFor();
  assert.deepEqual(await axe(two), []);
  assert.deepEqual(await jobsIn(two), [], "nothing is kept before it is asked for");
  await touch(two, "Keep it on this phone");
  await two.waitForURL(/#\/job\/[^/]+$/);
  await until(two, () => Object.keys(localStorage).some((key) => key.startsWith("ohms.job.")));
  const [there] = await jobsIn(two);
  const [here] = await jobsIn(one);
  assert.deepEqual(there.observations, here.observations);
  assert.deepEqual(there.site, here.site);
  assert.equal(there.notes, here.notes);
  assert.equal(there.people, undefined, "names stay behind unless they are wanted");
  // With names, and again: now it is known, and only the owner comes in.
  await bringIn(two, await linkOf(one, job, ["Names and addresses"]));
  await two.getByText("1 field that is empty here is filled").waitFor();
  await touch(two, "Merge into mine");
  await two.waitForURL(/#\/job\/[^/]+$/);
  await until(two, () => Object.values(localStorage).some((text) => text.includes("Kim Example")));
  // A third time it brings nothing.
  await bringIn(two, await linkOf(one, job));
  await two.getByText("on this phone already").waitFor();
});

test("an opened link changes nothing, then keeps, and going back does not bring it again", async (t) => {
  const site = await Site.start(t);
  const one = await visit(await openBrowser(t), site.url);
  const link = await linkOf(one, await larkWithNotes(one));
  const other = await openBrowser(t);
  const two = await visit(other, link);
  await onScreen(two, "Lark");
  assert.deepEqual(await jobsIn(two), []);
  await touch(two, "Keep it on this phone");
  await two.waitForURL(/#\/job\/[^/]+$/);
  await two.goBack().catch(() => null);
  assert.doesNotMatch(two.url(), /#o/);
});

test("two versions are merged: both readings stay, and a conflict is asked side by side", async (t) => {
  const site = await Site.start(t);
  const one = await visit(await openBrowser(t), site.url);
  const job = await larkWithNotes(one);
  const two = await visit(await openBrowser(t), await linkOf(one, job));
  await touch(two, "Keep it on this phone");
  await two.waitForURL(/#\/job\/[^/]+$/);
  await openCard(two, "ohms");
  await type(two, "Ohms, wire H to wire L", "121");
  await two.locator(".foot .primary").click();
  await two.locator(".finding").first().waitFor();
  await go(two, `#/job/${job}/notes`);
  await type(two, "Notes for the next person", "terminator replaced");
  const back = await linkOf(two, job);

  await bringIn(one, back);
  await one.getByText("1 entry of what was seen comes in").waitFor();
  await one.getByText("1 field differs: choose below").waitFor();
  const question = one.getByRole("group", { name: "Notes" });
  await question.getByText("spare terminator in the left drawer").waitFor();
  await question.getByText("terminator replaced").waitFor();
  await question.getByText("Both", { exact: true }).click();
  await touch(one, "Merge into mine");
  await one.waitForURL(/#\/job\/[^/]+$/);
  await until(one, () => Object.values(localStorage).some((text) => text.includes("terminator replaced")));
  const [merged] = await jobsIn(one);
  assert.match(merged.notes, /left drawer[\s\S]*terminator replaced/);
  assert.deepEqual(merged.observations.map((seen) => seen.typed).filter(Boolean), ["60.4", "121"]);
});

test("a code on the screen is read by another program, and opens the job", async (t) => {
  const site = await Site.start(t);
  const one = await visit(await openBrowser(t, undefined, { deviceScaleFactor: 2, colorScheme: "dark" }), site.url);
  const job = await larkWithNotes(one);
  await go(one, `#/job/${job}/share`);
  await onScreen(one, "Hand over");
  const picture = join(tempDir(t), "code.png");
  writeFileSync(picture, await one.locator("svg.code").screenshot());
  const text = execFileSync("zbarimg", ["--quiet", "--raw", picture], { encoding: "utf8" }).trim();
  assert.match(text, /#n[0-9]+$/);
  const two = await visit(await openBrowser(t), text);
  await onScreen(two, "Lark");
  await two.getByText("spare terminator in the left drawer").waitFor();
});

test("a file shows the record in any browser, and brings the job in", async (t) => {
  const site = await Site.start(t);
  const one = await visit(await openBrowser(t), site.url);
  const job = await larkWithNotes(one);
  await go(one, `#/job/${job}/share`);
  await onScreen(one, "Hand over");
  await touch(one, "Make the file");
  const [download] = await Promise.all([one.waitForEvent("download"), touch(one, "Save the file")]);
  const file = join(tempDir(t), download.suggestedFilename());
  await download.saveAs(file);
  const text = readFileSync(file, "utf8");
  assert.doesNotMatch(text, /Kim Example/, "names stay behind");
  assert.doesNotMatch(text, /src="blob:|https?:\/\/(?!www\.w3\.org)/, "it needs nothing else");
  // Alone, from the disk.
  const alone = await (await openBrowser(t)).newPage();
  await alone.goto(pathToFileURL(file).href);
  assert.match(await alone.locator("h1").innerText(), /^Lark/);
  await alone.getByText("60.4", { exact: false }).first().waitFor();
  await alone.getByText("spare terminator in the left drawer").waitFor();

  const two = await visit(await openBrowser(t), `${site.url}#/open`);
  await two.locator("input[type=file]").setInputFiles(file);
  await onScreen(two, "Lark");
  await touch(two, "Keep it on this phone");
  await two.waitForURL(/#\/job\/[^/]+$/);
  await until(two, () => Object.values(localStorage).some((text) => text.includes("left drawer")));
});

test("what cannot be opened is said in a sentence, and the text stays", async (t) => {
  const site = await Site.start(t);
  const one = await visit(await openBrowser(t), site.url);
  const link = await linkOf(one, await larkWithNotes(one));
  const middle = Math.floor(link.length / 2) + 20;
  const damaged = link.slice(0, middle) + (link[middle] === "A" ? "B" : "A") + link.slice(middle + 1);
  const two = await visit(await openBrowser(t), site.url);
  await bringIn(two, "good morning");
  await two.getByText("There is no link of this app in that text.").waitFor();
  assert.equal(await two.getByLabel("Link or message").inputValue(), "good morning");
  await bringIn(two, damaged);
  await two.getByText("This link is damaged").waitFor();
  await two.goto(damaged);
  await two.reload();
  await untilDrawn(two);
  await onScreen(two, "Nothing could be opened");
  assert.deepEqual(await jobsIn(two), []);
});

test("where the browser reads codes itself, a picture of one is enough", async (t) => {
  const site = await Site.start(t);
  const one = await visit(await openBrowser(t), site.url);
  const link = await linkOf(one, await larkWithNotes(one));
  const browser = await openBrowser(t);
  // This browser has no detector on this system: one of the same shape stands in, which the picture's content does not matter to.
  await browser.addInitScript((link) => {
    window.BarcodeDetector = class { async detect() { return [{ rawValue: link }]; } };
  }, link);
  const two = await visit(browser, `${site.url}#/open`);
  await two.getByRole("button", { name: "Scan with the camera" }).waitFor();
  const picture = join(tempDir(t), "code.png");
  await go(one, `#/job/${jobOf(one)}/share`);
  writeFileSync(picture, await one.locator("svg.code").screenshot());
  await two.locator("input[type=file]").setInputFiles(picture);
  await onScreen(two, "Lark");
});

test("a checklist alone goes into a job of the other phone", async (t) => {
  const site = await Site.start(t);
  const one = await visit(await openBrowser(t), site.url);
  await openDemo(one, "Lark");
  const job = jobOf(one);
  await go(one, `#/job/${job}/lists`);
  await onScreen(one, "Checklists");
  await touch(one, "Yearly inspection");
  await one.waitForURL(/\/list\//);
  const list = one.url().match(/\/list\/([^/]+)/)[1];
  await go(one, `#/job/${job}/list/${list}/share`);
  await onScreen(one, "Hand this checklist over");
  await one.getByText("Show the link").click();
  const link = (await one.locator(".link-text").innerText()).trim();
  const two = await visit(await openBrowser(t), link);
  await onScreen(two, "Yearly inspection");
  assert.deepEqual(await axe(two), []);
  await touch(two, "Add it");
  await two.waitForURL(/#\/job\/[^/]+\/list\//);
  await until(two, (list) => Object.values(localStorage).some((text) => text.includes(`"lists":[{"key":"${list}"`)), list);
});

test("a job too large for a code goes as a file, and its printed fingerprint can be held against it", async (t) => {
  const site = await Site.start(t);
  const one = await visit(await openBrowser(t), site.url);
  const job = await larkWithNotes(one);
  // Nothing in it repeats, so that it cannot be packed much smaller.
  let seed = 7;
  const letters = Array.from({ length: 2000 }, () => String.fromCharCode(97 + ((seed = (seed * 48271) % 2147483647) % 26))).join("");
  const type4000 = async (text) => {
    await go(one, `#/job/${job}/notes`);
    await onScreen(one, "Notes and people");
    await type(one, "Notes for the next person", text);
  };
  await type4000(letters);
  await go(one, `#/job/${job}/share`);
  await one.getByText("This is too much for one code.").waitFor();
  await one.getByText("Some messengers cut links that long").waitFor();
  await go(one, `#/job/${job}/record`);
  await onScreen(one, "Record");
  const digits = await one.locator(".fingerprint").innerText();
  assert.match(digits, /^(\d{5} ){4}\d{5}$/);
  const compare = async (text) => {
    await go(one, `#/job/${job}/record`);
    await onScreen(one, "Record");
    await one.getByText("Compare with a printed record", { exact: true }).click();
    await type(one, "The printed fingerprint", text);
  };
  await go(one, "#/read");
  await compare(digits.replaceAll(" ", ""));
  await one.getByText("The same: this job is as it was printed.").waitFor();
  await type4000(`${letters}!`);
  await compare(digits);
  await one.getByText("Not the same.").waitFor();
  // Longer still: no link at all, but the file.
  await type4000(letters + letters.split("").reverse().join(""));
  await go(one, `#/job/${job}/share`);
  await one.getByText("more than messengers carry").waitFor();
  assert.equal(await one.getByRole("button", { name: "Copy the link" }).count(), 0);
  await one.getByRole("button", { name: "Make the file" }).waitFor();
});
