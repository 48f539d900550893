// Browsers of our own, so that the whole process group can be killed: killing a page alone proves nothing, since the
// browser process keeps what the page has stored.

import { spawn } from "node:child_process";
import { writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { root } from "../../tools/paths.mjs";
import { ARGS, BROWSER, PATIENCE_MS } from "./lib.mjs";

const require = createRequire(join(root, "tools", "package.json"));

export const FIREFOX = process.env.FIREFOX || "/usr/bin/firefox-esr";

/** Kills a process group, and returns when its leader is gone. */
export async function killGroup(child, gone) {
  try {
    process.kill(-child.pid, "SIGKILL");
  } catch {
    // It is gone already.
  }
  await gone;
}

/** Starts a browser in a process group of its own; returns the address that it says it listens at, and its killing. */
export async function started(command, args, says) {
  const child = spawn(command, args, { detached: true, stdio: ["ignore", "ignore", "pipe"] });
  const gone = new Promise((done) => child.on("exit", done));
  const address = await new Promise((done, failed) => {
    let said = "";
    child.stderr.on("data", (data) => {
      said += data;
      const found = said.match(says);
      if (found) done(found[1]);
    });
    child.on("exit", () => failed(new Error(`${command} did not start: ${said}`)));
  });
  return { address, kill: () => killGroup(child, gone) };
}

/** Chromium with a profile folder, as { context, page(), kill() }. */
export async function ownChromium(profile) {
  const { chromium } = require("playwright-core");
  const args = [...ARGS, "--headless", "--remote-debugging-port=0", `--user-data-dir=${profile}`, "about:blank"];
  const { address, kill } = await started(BROWSER, args, /DevTools listening on (ws:\S+)/);
  const browser = await chromium.connectOverCDP(address);
  const context = browser.contexts()[0];
  context.setDefaultTimeout(PATIENCE_MS);
  return { context, page: () => context.newPage(), kill };
}

// A killed browser is our daily bread: no questions at the next start, and no calls to anybody.
const FIREFOX_SETTINGS = {
  "app.update.disabledForTesting": true,
  "browser.sessionstore.resume_from_crash": false,
  "browser.shell.checkDefaultBrowser": false,
  "datareporting.policy.dataSubmissionEnabled": false,
  "toolkit.startup.max_resumed_crashes": -1,
  "toolkit.telemetry.reportingpolicy.firstRun": false,
};

/** Firefox with a profile folder, as { browser, page(), kill() }: driven over WebDriver BiDi, without a driver between. */
export async function ownFirefox(profile, settings = {}) {
  const puppeteer = require("puppeteer-core");
  const lines = Object.entries({ ...FIREFOX_SETTINGS, ...settings }).map(([name, value]) => `user_pref(${JSON.stringify(name)}, ${JSON.stringify(value)});`);
  writeFileSync(join(profile, "user.js"), lines.join("\n"));
  const args = ["--headless", "--no-remote", "--remote-debugging-port=0", "--profile", profile];
  const { address, kill } = await started(FIREFOX, args, /WebDriver BiDi listening on (ws:\S+)/);
  const browser = await puppeteer.connect({ browserWSEndpoint: `${address}/session`, protocol: "webDriverBiDi" });
  return { browser, page: () => browser.newPage(), kill };
}
