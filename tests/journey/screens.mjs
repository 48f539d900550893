// Every screen of the app, and a job that shows them all: for the journeys that walk through all of them.

import { jobOf, openDemo } from "./app.mjs";

const PLAIN = [
  "#/", "#/jobs", "#/measure", "#/measure/ohms", "#/measure/volts", "#/measure/length", "#/measure/profile", "#/measure/rs485",
  "#/measure/together", "#/measure/pins", "#/measure/capture", "#/measure/bank", "#/measure/rest", "#/measure/join",
  "#/measure/sharing", "#/measure/cable", "#/measure/protection", "#/measure/inrush", "#/measure/charger", "#/measure/joint",
  "#/measure/order", "#/find", "#/alarms", "#/alarms/short-circuit", "#/read", "#/read/why-two-terminators", "#/about",
  "#/keeping", "#/packs", "#/workbench", "#kAAAAAAAAAAAAAAAAz", "#/parts", "#/open", "#oAAAAAAAAAAAAAAAAz", "#/nowhere",
  "#/job/none",
];

const OF_JOB = [
  "", "/site", "/site/name", "/site/modules", "/site/monitor", "/site/leads", "/site/terminators", "/site/chargers", "/bank",
  "/power", "/power/cable", "/power/protection", "/power/inrush", "/power/charger", "/power/joint", "/power/order", "/record",
  "/notes", "/photos", "/share", "/view", "/lists", "/list/new-bank", "/list/new-bank/share", "/list/own-test",
  "/list/own-test/edit", "/list/none", "/ohms", "/profile", "/find", "/card/take-along", "/card/polarity", "/card/closing-order",
  "/card/link.1", "/card/terminator.bank", "/card/reach-pins", "/card/volts", "/card/ohms", "/card/charge", "/card/current",
  "/card/none",
];

/** Goes to a screen, and returns when it is drawn. */
export async function go(page, hash) {
  await page.evaluate((hash) => { location.hash = hash; }, hash);
  await page.waitForFunction((hash) => location.hash === hash && document.querySelector("main h1"), hash);
  await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
}

/** Opens a demo with a list of the content in use, and one of the person's own; returns the addresses of all screens. */
export async function everyScreen(page) {
  await openDemo(page, "Lark");
  const job = jobOf(page);
  await go(page, `#/job/${job}/lists`);
  await page.getByRole("button", { name: "New bank" }).click();
  await page.locator(".item-card").waitFor();
  await go(page, `#/job/${job}/lists`);
  await page.getByRole("button", { name: "Make one" }).click();
  await page.locator("#own-name").fill("Mine");
  const own = page.url().match(/\/list\/([^/]+)/)[1];
  for (const text of ["One", "Two"]) {
    await page.getByRole("button", { name: "Add an item" }).click();
    await page.locator("#own-text").fill(text);
  }
  await page.locator("#own-asks input").nth(1).check({ force: true });
  return [...PLAIN, ...OF_JOB.map((rest) => `#/job/${job}${rest.replace("own-test", own)}`)];
}
