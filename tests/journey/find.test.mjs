// The fault finder: from a symptom to a repair and its proof, without a job and in one.

import assert from "node:assert/strict";
import { test } from "node:test";
import { onScreen, seeOneTerminator, touch } from "./app.mjs";
import { Site, axe, openBrowser, troubles, until, untilDrawn, visit } from "./lib.mjs";

const now = (page) => page.locator(".next .next-action").innerText();

/** Gives the quietest answer to each check, until a repair is advised or nothing more is asked. Returns what was asked. */
async function quietAnswers(page) {
  const asked = [];
  while (asked.length < 14 && (await page.locator(".answers").count()) > 0) {
    const told = await page.locator(".find-now ol > li").count();
    asked.push(await now(page));
    await page.locator(".answers button").first().click();
    await until(page, (told) => document.querySelectorAll(".find-now ol > li").length > told, told);
  }
  return asked;
}

test("from a symptom to the repair, and kept over a reload", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, site.url);
  const trouble = troubles(page);
  await page.getByRole("link", { name: /Something is wrong/ }).click();
  await onScreen(page, "Find the fault");
  assert.deepEqual(await axe(page), []);
  await touch(page, "A module is missing");
  // Danger first: nothing else is asked before smell, heat and swelling.
  await until(page, () => document.querySelector(".answers"));
  assert.match(await now(page), /Smell, heat/);
  await until(page, () => document.querySelectorAll(".suspicion").length === 3);
  await page.locator(".answers button", { hasText: "Nothing of the kind" }).click();
  await until(page, () => !/Smell, heat/.test(document.querySelector(".next .next-action")?.textContent));
  assert.deepEqual(await axe(page), []);
  const before = await now(page);
  await page.reload();
  await untilDrawn(page);
  assert.equal(await now(page), before);
  // What cannot be done now is not asked again.
  await touch(page, "I can't do this now");
  await until(page, (before) => document.querySelector(".next .next-action").innerText !== before, before);
  await touch(page, "Take back the last answer");
  await until(page, (before) => document.querySelector(".next .next-action").innerText === before, before);
  assert.deepEqual(trouble, []);
});

test("smoke ends the search", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, `${site.url}#/find`);
  await touch(page, "No battery data at all");
  await page.locator(".answers button", { hasText: "Smoke" }).click();
  await page.locator(".stop").waitFor();
  assert.match(await page.locator(".stop").innerText(), /fire service/);
  assert.equal(await page.locator(".answers").count(), 0);
});

test("in a job: what the cards know counts, the story is in the record", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, site.url);
  const trouble = troubles(page);
  await seeOneTerminator(page);
  const job = page.url().match(/#\/job\/([^/]+)/)[1];
  await page.evaluate((hash) => { location.hash = hash; }, `#/job/${job}/find`);
  await onScreen(page, "Find the fault");
  // No symptom was told: the job's own readings begin the search.
  await page.locator(".suspicion").first().waitFor();
  assert.match(await page.locator(".suspicions").innerText(), /terminator/i);
  await page.locator(".answers button", { hasText: "Nothing of the kind" }).click();
  // What was told is drawn behind the next check.
  await page.locator(".find-now ol > li").first().waitFor();
  const asked = await quietAnswers(page);
  assert.ok(asked.length > 0);
  t.diagnostic(`asked: ${asked.join("; ")}`);
  await page.waitForTimeout(600);
  await page.evaluate((hash) => { location.hash = hash; }, `#/job/${job}/record`);
  await onScreen(page, "Record");
  assert.match(await page.locator("main").innerText(), /Smell, heat, swelling, smoke: Nothing of the kind/);
  assert.deepEqual(trouble, []);
});
