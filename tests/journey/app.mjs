// The app as a person uses it: by the words on its buttons, labels and headings. Journeys read as what is done.

import assert from "node:assert/strict";
import { until, visit } from "./lib.mjs";

/** The key of the job that is shown. */
export const jobOf = (page) => page.url().match(/#\/job\/([^/]+)/)[1];

/** Goes to an address of the app. */
export const go = (page, hash) => page.evaluate((hash) => { location.hash = hash; }, hash);

/** A second tab on the demo's notes, and the key of the job; the first stays where it is. */
export async function demoInTwoTabs(browser, site) {
  const one = await visit(browser, site.url);
  await openDemo(one, "Lark");
  const job = jobOf(one);
  await one.waitForTimeout(600);
  const two = await visit(browser, `${site.url}#/job/${job}/notes`);
  await onScreen(two, "Notes");
  return { one, two, job };
}

/** The heading of the screen that is shown. */
export const heading = (page) => page.locator("main h1");

/** Waits until a screen with this heading is shown. */
export async function onScreen(page, name) {
  await page.locator("main h1", { hasText: name }).waitFor();
}

/** Touches a button or a link by its words. */
export async function touch(page, name) {
  await page.locator("main").getByRole("button", { name }).or(page.locator("main").getByRole("link", { name })).first().click();
}

/** The one thing at the thumb. */
export const primary = (page) => page.locator(".foot .primary");

/** Types into a field by its label. */
export async function type(page, label, text) {
  await page.getByLabel(label, { exact: true }).fill(text);
}

/**
 * Types into a field, and sees that the browser has done it: on a loaded machine it has once dropped a text that the
 * driver gave it. That the app leaves it there is for the caller to see, when the app has had its say.
 */
export async function typed(field, text) {
  for (let tries = 1; ; tries += 1) {
    await field.fill(text);
    if ((await field.inputValue()) === text) return;
    assert.ok(tries < 3, `"${text.slice(0, 12)}" does not stay in the field`);
  }
}

/** Chooses a row of a question. */
export async function choose(page, question, row) {
  await page.getByRole("group", { name: question }).getByText(row, { exact: false }).first().click();
}

/** Describes a site by hand, from an empty app to its cards. */
export async function describeLark(page) {
  await touch(page, "Begin a job");
  await onScreen(page, "Name");
  await type(page, "Name of the site", "Lark, by hand");
  await touch(page, "Next");
  await onScreen(page, "Modules");
  await choose(page, "Module", "Plain 12-230");
  await type(page, "Modules or strings side by side", "3");
  await type(page, "Modules in series, in each string", "1");
  await touch(page, "Next");
  await onScreen(page, "Monitor");
  await choose(page, "Monitor", "Window 2");
  await touch(page, "Next");
  await onScreen(page, "Leads");
  await type(page, "Length of each link lead", "0,5 m");
  await type(page, "Length of that lead", "5");
  await touch(page, "Next");
  await onScreen(page, "Terminators");
  await choose(page, "At the bank’s free end".replace("’", "'"), "A terminator is fitted");
  await choose(page, "At the monitor's end", "A terminator is fitted");
  await touch(page, "Next");
  await onScreen(page, "Chargers");
  await page.getByRole("checkbox", { name: "Roof Sun" }).check();
  await touch(page, "Next");
  await onScreen(page, "What is installed");
  await touch(page, "To the cards");
  await onScreen(page, "Lark, by hand");
}

/** Touches the one thing at the thumb that leads to another card, and sees that card. */
export async function goOn(page) {
  const before = await heading(page).innerText();
  await primary(page).click();
  await page.waitForFunction((before) => document.querySelector("main h1")?.innerText !== before, before);
}

/** Ticks cards until one asks for a reading, or the job is done. Returns the actions in order. */
export async function tickOn(page) {
  const actions = [];
  for (;;) {
    if (!/\/card\//.test(page.url())) return actions;
    const action = await heading(page).innerText();
    if ((await page.locator(".ask").count()) > 0) return actions;
    actions.push(action);
    await goOn(page);
    assert.ok(actions.length < 60, "the cards do not end");
  }
}

/** Enters readings on the card that is shown and has them held; { label: text }. */
export async function enter(page, readings) {
  for (const [label, text] of Object.entries(readings)) await type(page, label, text);
  await primary(page).click();
}

/** From a card that is done through Lark's voltage, which holds, to the card of the known load. */
export async function voltageHolds(page) {
  await primary(page).click();
  await onScreen(page, "bank voltage");
  await enter(page, { "Bank voltage shown": "13,3" });
  await until(page, () => document.querySelectorAll(".badge-holds").length === 1);
  await primary(page).click();
  await onScreen(page, "known load");
}

/** The verdicts on the card that is shown. */
export async function verdicts(page) {
  return page.locator(".finding .verdict").allInnerTexts().then((texts) => texts.map((text) => text.trim()));
}

/** Opens the demo job. */
export async function openDemo(page, name) {
  await page.getByRole("link", { name: "Jobs", exact: true }).click();
  await onScreen(page, "Jobs");
  await touch(page, name);
  await onScreen(page, name);
}

/** Goes straight to a card of the job that is shown, by its key. */
export async function openCard(page, key) {
  const job = jobOf(page);
  await page.evaluate((hash) => { location.hash = hash; }, `#/job/${job}/card/${key}`);
  await page.locator(".page-card").waitFor();
  await page.waitForFunction((key) => location.hash.endsWith(key), key);
}

/** All texts that both stores hold, as { local: { key: text }, mirror: { key: text } }. */
export function kept(page) {
  return page.evaluate(async () => {
    const local = {};
    for (const key of Object.keys(localStorage)) if (key.startsWith("ohms.job.")) local[key.slice(9)] = localStorage[key];
    const database = await new Promise((done, failed) => {
      const request = indexedDB.open("ohms", 1);
      request.onsuccess = () => done(request.result);
      request.onerror = () => failed(request.error);
    });
    const mirror = await new Promise((done, failed) => {
      const found = {};
      const request = database.transaction("jobs").objectStore("jobs").openCursor();
      request.onerror = () => failed(request.error);
      request.onsuccess = () => {
        const cursor = request.result;
        if (!cursor) return done(found);
        found[cursor.key] = cursor.value;
        cursor.continue();
      };
    });
    database.close();
    return { local, mirror };
  });
}

/** Takes the three voltages of a quiet bus in the open job, without which no ohms count. */
export async function holdVolts(page) {
  await openCard(page, "volts");
  await enter(page, { "Volts, wire H to wire L": "0.001", "Volts, wire H to reference": "0.02", "Volts, wire L to reference": "0.02" });
}

/** In the demo job, from an app that was just opened: a quiet bus on which one terminator is seen. */
export async function seeOneTerminator(page) {
  await openDemo(page, "Lark");
  await holdVolts(page);
  await openCard(page, "ohms");
  await enter(page, { "Ohms, wire H to wire L": "118.6" });
  await page.locator(".finding-fails").waitFor();
}
