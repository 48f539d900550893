// Every screen's address: those of the app itself, and those of a job that has something on each of them.

import { go as goTo, openDemo } from "./app.mjs";

/** Screens without a job. Two are links that cannot be read, two lead nowhere. */
export const PLAIN = ["#/", "#/jobs", "#/measure", "#/measure/ohms", "#/measure/volts", "#/measure/length", "#/measure/profile", "#/measure/rs485", "#/measure/together", "#/measure/pins", "#/measure/capture", "#/measure/bank", "#/measure/rest", "#/measure/join", "#/measure/sharing", "#/measure/cable", "#/measure/protection", "#/measure/inrush", "#/measure/charger", "#/measure/joint", "#/measure/order", "#/find", "#/alarms", "#/alarms/short-circuit", "#/read", "#/read/why-two-terminators", "#/about", "#/licences", "#/keeping", "#/packs", "#/workbench", "#kAAAAAAAAAAAAAAAAz", "#/parts", "#/open", "#oAAAAAAAAAAAAAAAAz", "#/nowhere", "#/job/none"];

const OF_JOB = ["", "/site", "/site/name", "/site/modules", "/site/monitor", "/site/leads", "/site/terminators", "/site/chargers", "/bank", "/power", "/power/cable", "/power/protection", "/power/inrush", "/power/charger", "/power/joint", "/power/order", "/record", "/notes", "/photos", "/share", "/view", "/lists", "/list/new-bank", "/list/new-bank/share", "/list/own-test", "/list/own-test/edit", "/list/none", "/ohms", "/profile", "/find", "/card/take-along", "/card/polarity", "/card/closing-order", "/card/link.1", "/card/terminator.bank", "/card/reach-pins", "/card/volts", "/card/ohms", "/card/charge", "/card/current", "/card/none"];

/** Goes to an address, and waits until its screen is drawn and has the focus where it wants it. */
export async function go(page, hash) {
  await goTo(page, hash);
  await page.waitForFunction((hash) => location.hash === hash && document.querySelector("main h1"), hash);
  await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
}

/** Takes up lists in the demo job, so that each of its screens has something, and returns every address there is. */
export async function everyAddress(page) {
  await openDemo(page, "Lark");
  const job = page.url().match(/#\/job\/([^/]+)/)[1];
  // A list of the content, and one of the person's own, in use.
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
