// Killing browsers again and again: what was shown as kept has to be there after each restart. Used by the journeys with
// short waits, and by `make chaos` with many and long ones.
//
//   node tests/journey/chaos.mjs chromium|firefox [KILLS] [LONGEST_MS] [SEED]

import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { dist } from "../../tools/paths.mjs";
import { serve } from "../../tools/serve.mjs";
import { ownChromium, ownFirefox } from "./kill.mjs";
import { PATIENCE_MS } from "./lib.mjs";

export const ENGINES = { chromium: ownChromium, firefox: ownFirefox };

const pause = (ms) => new Promise((done) => setTimeout(done, ms));

/** Chance from a seed (mulberry32), so that a failing run can be had again. */
export function chance(seed) {
  let state = seed;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
}

/** Waits from 0.2 s to the longest, short ones oftener, in any order. */
function waits(count, longest, random) {
  const all = Array.from({ length: count }, (_, n) => 200 + (longest - 200) * ((n + random()) / count) ** 2);
  for (let n = count - 1; n > 0; n--) {
    const other = Math.floor(random() * (n + 1));
    [all[n], all[other]] = [all[other], all[n]];
  }
  return all;
}

/** Asks the page until the answer is not null. The page may be on its way to another address meanwhile. */
export async function until(page, what, arg) {
  const end = Date.now() + 2 * PATIENCE_MS;
  for (;;) {
    const answer = await page.evaluate(what, arg).catch(() => null);
    if (answer !== null && answer !== undefined) return answer;
    if (Date.now() > end) throw new Error(`waited in vain for ${what}`);
    await pause(30);
  }
}

/** Types into the notes; from then on, if asked, a little more every few hundredths of a second. */
const typeNotes = ({ round, on }) => {
  const field = document.querySelector("#notes");
  if (!field) return null;
  const type = (step) => {
    window.typed = step;
    field.value = `round ${round}, step ${step}`;
    field.dispatchEvent(new Event("input", { bubbles: true }));
  };
  type(0);
  if (on) {
    let step = 0;
    const more = () => {
      type(++step);
      setTimeout(more, 30 + 400 * Math.random() ** 2);
    };
    setTimeout(more, 300);
  }
  return true;
};

/** The step that is in the field while the page says that it is kept; with it the last one typed. */
const shownAsKept = () => {
  if (!document.querySelector('.kept[data-kept="kept"]')) return null;
  return { step: Number(document.querySelector("#notes").value.split("step ")[1]), typed: window.typed };
};

/** What the notes hold after a start: [round, step]. A job that is not there has no notes. */
const found = () => {
  const field = document.querySelector("#notes");
  if (!field) return document.querySelector("main h1") && document.querySelector(".foot a.primary") ? [-1, -1] : null;
  const numbers = field.value.match(/\d+/g);
  return numbers ? numbers.map(Number) : [-1, -1];
};

/** Begins a job of one's own and returns the address of its notes. */
export async function begin(browser, url) {
  const page = await browser.page();
  await page.goto(`${url}#/jobs`);
  await until(page, () => {
    const button = document.querySelector(".foot button.primary");
    button?.click();
    return button ? true : null;
  });
  const job = await until(page, () => location.hash.match(/#\/job\/([^/]+)\/site/)?.[1] ?? null);
  await until(page, () => (document.querySelector('.kept[data-kept="kept"]') ? true : null));
  return `${url}#/job/${job}/notes`;
}

/**
 * Kills the browser so often, each time a while after a change was shown as kept; every other time it types on all the
 * while. Returns { kills, lost: [sentence], shortest, longest } (ms).
 */
export async function killAgainAndAgain(engine, url, { kills, longest, seed, say = () => {} }) {
  const profile = mkdtempSync(join(tmpdir(), "sixty-ohms-"));
  const all = waits(kills, longest, chance(seed));
  const lost = [];
  let browser = await ENGINES[engine](profile);
  try {
    const address = await begin(browser, url);
    let page = await browser.page();
    await page.goto(address);
    for (const [index, wait] of all.entries()) {
      const round = index + 1;
      await until(page, typeNotes, { round, on: round % 2 === 1 });
      let shown = await until(page, shownAsKept);
      const end = Date.now() + wait;
      while (Date.now() < end) {
        await pause(Math.min(60, Math.max(0, end - Date.now())));
        shown = (await page.evaluate(shownAsKept)) ?? shown;
      }
      await browser.kill();
      browser = await ENGINES[engine](profile);
      page = await browser.page();
      await page.goto(address);
      const [inRound, step] = await until(page, found);
      if (inRound !== round || step < shown.step) {
        lost.push(`kill ${round} after ${Math.round(wait)} ms: shown as kept round ${round} step ${shown.step}, found round ${inRound} step ${step}`);
        say(lost.at(-1));
      }
      if (round % 25 === 0) say(`${engine}: ${round} of ${kills} kills, ${lost.length} lost`);
    }
  } finally {
    await browser.kill();
    rmSync(profile, { recursive: true, force: true, maxRetries: 10, retryDelay: 200 });
  }
  return { kills, lost, shortest: Math.min(...all), longest: Math.max(...all) };
}

if (process.argv[1] && import.meta.url === pathToFileURL(process.argv[1]).href) {
  const [engine, kills = "500", longest = "60000", seed = String(Date.now() % 1e9)] = process.argv.slice(2);
  if (!ENGINES[engine]) throw new Error(`which browser: ${Object.keys(ENGINES).join(" or ")}?`);
  const server = await serve({ dir: dist });
  const result = await killAgainAndAgain(engine, server.url, { kills: Number(kills), longest: Number(longest), seed: Number(seed), say: console.log });
  await server.stop();
  console.log(`${engine}, seed ${seed}: ${result.kills} kills after ${Math.round(result.shortest)} to ${Math.round(result.longest)} ms, ${result.lost.length} lost`);
  process.exit(result.lost.length > 0 ? 1 : 0);
}
