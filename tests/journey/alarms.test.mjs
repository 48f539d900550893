// Alarms: found with a slip as it is typed, read in order, noted in a job with its time, and led to from codes.

import assert from "node:assert/strict";
import { test } from "node:test";
import { onScreen, openDemo, touch } from "./app.mjs";
import { Site, axe, openBrowser, troubles, visit } from "./lib.mjs";

const search = (page, text) => page.getByLabel("What the display shows").fill(text);
const titles = (page) => page.locator(".results .row-title").allInnerTexts();

async function open(t, hash = "#/alarms") {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, `${site.url}${hash}`);
  return { page, trouble: troubles(page) };
}

test("a slip finds its entry, which is noted in a job and stands in the record", async (t) => {
  const { page, trouble } = await open(t, "#/jobs");
  await openDemo(page, "Lark");
  await page.getByRole("link", { name: "Alarms", exact: true }).click();
  await onScreen(page, "Alarms");
  // Letter by letter, as a person types; two letters are swapped.
  await page.getByLabel("What the display shows").pressSequentially("undervolatge cell");
  await page.locator(".results .row-title", { hasText: "Cell voltage low" }).waitFor();
  assert.equal((await titles(page))[0], "Cell voltage low");
  assert.deepEqual(await axe(page), []);
  await touch(page, "Cell voltage low");
  await onScreen(page, "Cell voltage low");
  // The parts in the order in which an installer needs them.
  const parts = await page.locator(".page-alarm h2, .page-alarm .caution strong").allInnerTexts();
  assert.deepEqual(parts, ["First", "What it means", "May it go on?", "What not to do", "Usual causes, likeliest first", "When to stop", "Where to go next"]);
  await touch(page, "Note in a job");
  await touch(page, "It is there");
  await page.locator(".noted", { hasText: "Noted in Lark" }).waitFor();
  await touch(page, "It has gone");
  await page.locator(".noted", { hasText: "it has gone" }).waitFor();
  assert.deepEqual(await axe(page), []);
  await touch(page, "Open the record");
  await page.locator(".record-alarms").waitFor();
  const rows = await page.locator(".record-alarms li").allInnerTexts();
  assert.equal(rows.length, 2);
  assert.match(rows[0], /^Cell voltage low: there\n.*\d/);
  assert.match(rows[1], /^Cell voltage low: gone\n.*\d/);
  // It is kept: the same after a new start.
  await page.waitForFunction(() => Object.entries(localStorage).some(([key, text]) => key.startsWith("ohms.job.") && text.includes('"alarm":"cell-voltage-low"')));
  await page.reload();
  await page.locator(".record-alarms").waitFor();
  assert.equal(await page.locator(".record-alarms li").count(), 2);
  assert.deepEqual(trouble, []);
});

test("a bit field leads to its bit, other languages to the same entry, nonsense to a plain sentence", async (t) => {
  const { page, trouble } = await open(t);
  await search(page, "E 0x0010");
  await page.locator(".results .row-over").first().waitFor();
  assert.equal((await titles(page))[0], "Too cold");
  assert.match(await page.locator(".results .row-over").first().innerText(), /bit 4: UNDER_TEMP_WARNING/);
  await search(page, "Laden gesperrt kalt");
  await page.locator(".results .row-title", { hasText: "Charge blocked by cold" }).waitFor();
  assert.equal((await titles(page))[0], "Charge blocked by cold");
  await search(page, "qqqqzzzz");
  await page.getByText("Nothing fits “qqqqzzzz”").waitFor();
  // What was typed is still there after an entry was read.
  await search(page, "fuze blown");
  await touch(page, "Fuse open");
  await onScreen(page, "Fuse open");
  await page.goBack();
  await onScreen(page, "Alarms");
  assert.equal(await page.getByLabel("What the display shows").inputValue(), "fuze blown");
  assert.deepEqual(trouble, []);
});

test("without a job there is a way to one", async (t) => {
  const { page } = await open(t, "#/alarms/too-cold");
  await onScreen(page, "Too cold");
  await touch(page, "Note in a job");
  await page.getByText("There is no job on this phone yet.").waitFor();
  await page.locator("#note").getByRole("link").click();
  await onScreen(page, "Jobs");
});

test("a capture's limits, failure modes and emergencies lead to their alarms", async (t) => {
  const { page, trouble } = await open(t, "#/measure/capture");
  // Status 6: low temperature reached and opened (byte 3, 0101 in its upper half); DM_RV with failure mode 1 and both
  // lamps; a CANopen emergency of the voltage group.
  const log = [
    "(1700000000.000000) can0 19FEC780#0178005000FFFFFF",
    "(1700000000.100000) can0 19FECA80#554600082101FFFF",
    "(1700000000.200000) can0 085#1032010000000000",
  ].join("\n");
  await page.locator("#pasted").fill(log);
  await touch(page, "Read these lines");
  const links = page.locator(".alarm-links a");
  await links.first().waitFor();
  const found = await links.allInnerTexts();
  for (const title of ["Cut off: cold", "A value is too low", "Red lamp", "Yellow lamp", "Fault named for a voltage"]) {
    assert.ok(found.includes(title), `${title} is not among ${found}`);
  }
  await page.getByRole("link", { name: "Cut off: cold" }).click();
  await onScreen(page, "Cut off: cold");
  assert.deepEqual(trouble, []);
});
