// Checklists: taken up, gone by item by item with verdicts at once, said not to apply, kept, told in the record; and
// those that a person makes.

import assert from "node:assert/strict";
import { test } from "node:test";
import { describeLark, holdVolts, kept, onScreen, openCard, openDemo, primary, touch, type } from "./app.mjs";
import { Site, axe, openBrowser, tempDir, troubles, until, untilDrawn, untilOffline, visit } from "./lib.mjs";

const jobOf = (page) => page.url().match(/#\/job\/([^/]+)/)[1];
const go = (page, hash) => page.evaluate((hash) => { location.hash = hash; }, hash);
const item = (page, text) => page.locator(".item-line", { hasText: text }).first();
const inHand = (page, text) => page.locator(".item-card h2", { hasText: text }).waitFor();
const read = async (page, text) => {
  await page.locator(".item-card .entry-large input").fill(text);
  await primary(page).click();
  await page.locator(".item-card .finding").waitFor();
};
const verdict = (page) => page.locator(".item-card .finding .verdict").innerText().then((text) => text.trim());
const plain = (text) => text.replaceAll("\u00a0", " ");

test("a list taken up without signal: ticked, read, judged at once, kept over a closed browser, in the record", async (t) => {
  const site = await Site.start(t);
  const profile = tempDir(t);
  let browser = await openBrowser(t, profile);
  let page = await visit(browser, site.url);
  await untilOffline(page, "ready");
  await site.stop();
  const trouble = troubles(page);
  await describeLark(page);
  const job = jobOf(page);
  await touch(page, "Checklists");
  await onScreen(page, "Checklists");
  await touch(page, "New bank");
  await onScreen(page, "New bank");
  // Who: asked once.
  await type(page, "Who does the work?", "Ann Berg");
  await touch(page, "That is me");
  await page.getByText("By Ann Berg").waitFor();
  // The first open item is in hand, and the next one comes by itself.
  await inHand(page, "Make sure that you may do this work here.");
  await primary(page).click();
  await inHand(page, "Hold the equipment against the site");
  await primary(page).click();
  await inHand(page, "of one type");
  assert.match(await page.locator(".list-progress").innerText(), /^2 of \d+$/m);
  // A reading: refused with a sentence, then judged.
  await item(page, "pole to pole, module 1").click();
  await inHand(page, "Volts from pole to pole, module 1");
  await page.locator(".item-card .entry-large input").fill("thirteen");
  await primary(page).click();
  await page.getByText("Enter a number, such as").waitFor();
  await read(page, "-13.28");
  assert.equal(await verdict(page), "Fails");
  assert.match(plain(await page.locator(".item-card").innerText()), /by Ann Berg/);
  assert.deepEqual(await axe(page), []);
  await read(page, "13,28");
  assert.equal(await verdict(page), "Holds");
  await touch(page, "Next item");
  await inHand(page, "Volts from pole to pole, module 2");
  // Half-typed, and left so.
  await page.locator(".item-card .entry-large input").fill("13.");
  // Between limit and outer limit, with a note.
  await item(page, "Cell spread shown").click();
  await read(page, "60 mV");
  assert.equal(await verdict(page), "Look again");
  await page.getByText("Note, or does not apply").click();
  await page.getByLabel("Note", { exact: true }).fill("Just off the charger");
  // What does not apply needs its reason.
  await item(page, "has its own fuse").click();
  await page.getByText("Note, or does not apply").click();
  await page.getByRole("button", { name: "Does not apply", exact: true }).click();
  await page.getByText("Say in a few words why").waitFor();
  await page.getByLabel("Does not apply because…").fill("one fuse for all, as the maker says");
  await page.getByRole("button", { name: "Does not apply", exact: true }).click();
  await item(page, "one fuse for all").waitFor();
  await page.waitForTimeout(700);
  assert.deepEqual(trouble, []);
  await page.close();
  await browser.close();

  browser = await openBrowser(t, profile);
  page = await browser.newPage();
  await page.goto(`${site.url}#/job/${job}/list/new-bank`);
  await untilDrawn(page);
  await onScreen(page, "New bank");
  await item(page, "pole to pole, module 2").click();
  assert.equal(await page.locator(".item-card .entry-large input").inputValue(), "13.");
  assert.match(plain(await item(page, "Cell spread shown").innerText()), /60 mV · Look again · Just off the charger/u);
  // Taken back, with what was seen kept.
  await item(page, "Make sure that you may").click();
  await touch(page, "Take back");
  await until(page, () => document.querySelector(".item-card .item-done") === null);
  await go(page, `#/job/${job}/record`);
  await onScreen(page, "Record");
  const record = plain(await page.locator("main").innerText());
  for (const text of ["New bank", "13.28 V", "60 mV", "Note: Just off the charger", "because: one fuse for all, as the maker says", "by Ann Berg", "Not checked:", "common practice, no source"]) {
    assert.ok(record.includes(text), `the record lacks “${text}”`);
  }
  assert.deepEqual(await axe(page), []);
  const { local } = await kept(page);
  const stored = JSON.parse(local[job]).job;
  assert.equal(stored.people.by, "Ann Berg");
  assert.equal(stored.observations.filter((one) => one.of.item?.item === "module-volts.1").length, 2);
});

test("a check of the job is the same reading on its card and on every list; a yearly list wants it anew", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, site.url);
  await openDemo(page, "Lark");
  const job = jobOf(page);
  await holdVolts(page);
  await go(page, `#/job/${job}/lists`);
  await onScreen(page, "Checklists");
  await touch(page, "New bank");
  await item(page, "Volts between the data wires").click();
  await page.locator(".item-card .finding-holds").waitFor();
  await item(page, "Ohms between the data wires").click();
  await read(page, "118.6");
  assert.equal(await verdict(page), "Fails");
  await page.getByText("Look or measure next").waitFor();
  assert.deepEqual(await axe(page), []);
  await openCard(page, "ohms");
  assert.equal(await page.getByLabel("Ohms, wire H to wire L").inputValue(), "118.6");
  await page.locator(".finding-fails").waitFor();

  await go(page, `#/job/${job}/lists`);
  await onScreen(page, "Checklists");
  await touch(page, "Yearly inspection");
  await onScreen(page, "Yearly inspection");
  await item(page, "Ohms between the data wires").click();
  await page.getByText("Before: 118.6").waitFor();
  assert.equal(await page.locator(".item-card .entry-large input").inputValue(), "");
  await read(page, "60.4");
  assert.equal(await verdict(page), "Holds");
  // An answer is taken when it is chosen.
  await item(page, "Direction of the current").click();
  await page.getByText("Out of the bank: discharging").click();
  await page.locator(".item-card .finding-holds").waitFor();
  // Begun anew: all is open again.
  await touch(page, "Begin it anew");
  await until(page, () => /^0 of/.test(document.querySelector(".list-progress").innerText));
  // Put away, and brought back.
  await touch(page, "Put this list away");
  await page.getByText("The list is put away").waitFor();
  await touch(page, "Undo");
  await page.locator(".item-card").waitFor();
  await go(page, `#/job/${job}/lists`);
  await onScreen(page, "Checklists");
  assert.match(await page.locator(".page-lists").innerText(), /In use\s+New bank/);
});

test("an own list: made, kept half-typed, items moved and deleted with undo, gone by, taken by another job", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, site.url);
  const trouble = troubles(page);
  await openDemo(page, "Lark");
  const first = jobOf(page);
  await go(page, `#/job/${first}/lists`);
  await touch(page, "Make one");
  await onScreen(page, "Your own list");
  await type(page, "Title of the list", "Before I leave the yard");
  for (const text of ["Spare terminator", "Meter battery", "Sticker on the door"]) {
    await touch(page, "Add an item");
    await page.locator(".item-card .over", { hasText: "Item" }).waitFor();
    await until(page, () => document.querySelector("#own-text").value === "");
    await type(page, "What is to be done or read", text);
  }
  await item(page, "Meter battery").click();
  await until(page, () => document.querySelector("#own-text").value === "Meter battery");
  await page.locator("#own-asks .segment", { hasText: "Volts" }).locator("input").check({ force: true });
  await type(page, "At least", "8,4");
  await type(page, "At most", "7");
  await page.getByText("The upper limit lies below").waitFor();
  await type(page, "At most", "ten");
  await page.getByText("Enter a number, such as").waitFor();
  assert.deepEqual(await axe(page), []);
  await touch(page, "Move down");
  assert.match(await page.locator(".item-lines").innerText(), /terminator[\s\S]*Sticker[\s\S]*Meter battery/);
  await touch(page, "Delete");
  await page.getByText("Deleted: Meter battery").waitFor();
  assert.equal(await page.locator(".item-lines > li").count(), 2);
  await touch(page, "Undo");
  await until(page, () => document.querySelectorAll(".item-lines > li").length === 3);
  await page.waitForTimeout(700);
  await page.reload();
  await untilDrawn(page);
  await item(page, "Meter battery").click();
  // What cannot be read stands there still.
  await until(page, () => document.querySelector("#own-high")?.value === "ten");
  assert.equal(await page.getByLabel("At least").inputValue(), "8,4");
  await type(page, "At most", "");
  await touch(page, "To the list");
  await onScreen(page, "Before I leave the yard");
  await primary(page).click();
  await item(page, "Meter battery").click();
  await read(page, "8.1");
  assert.equal(await verdict(page), "Fails");
  assert.match(await page.locator(".list-progress").innerText(), /2 of 3, 1 fails/);
  assert.deepEqual(await axe(page), []);

  // Another job takes it over, blank.
  await openDemo(page, "Otter");
  const second = jobOf(page);
  await go(page, `#/job/${second}/lists`);
  await onScreen(page, "Checklists");
  await touch(page, "Before I leave the yard");
  await onScreen(page, "Before I leave the yard");
  assert.match(await page.locator(".list-progress").innerText(), /0 of 3/);
  await page.waitForTimeout(700);
  const { local } = await kept(page);
  const [one, two] = [first, second].map((id) => JSON.parse(local[id]).job.lists.at(-1));
  assert.deepEqual(one, two, "the job carries the list whole");
  assert.deepEqual(trouble, []);
});
