// What every journey needs: a server that can be stopped, a browser whose profile outlives it, and the next
// version of the app. Everything registers its own clean-up with the test that asked for it.
//
//   const site = await Site.start(t);                 serves dist/
//   const browser = await openBrowser(t);             a browser context with a profile of its own
//   const page = await visit(browser, site.url);      the app, drawn
//   await untilOffline(page, "ready");                stored whole
//   await site.stop();                                offline, truly: nobody listens any more

import assert from "node:assert/strict";
import { createHash } from "node:crypto";
import { cpSync, existsSync, mkdtempSync, readFileSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { filesIn, seal } from "../../tools/bundle.mjs";
import { dist, root } from "../../tools/paths.mjs";
import { serve } from "../../tools/serve.mjs";

// The npm tools live under tools/, where a plain import from here would not look.
const require = createRequire(join(root, "tools", "package.json"));
const { chromium } = require("playwright-core");

export const BROWSER = process.env.CHROMIUM || "/usr/bin/chromium";
export const ARGS = [
  "--disable-gpu",
  "--disable-quic",
  "--no-first-run",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
  // Root, as in a container, has no sandbox to start.
  ...(process.getuid?.() === 0 ? ["--no-sandbox"] : []),
];

/** Longer than any step takes on a busy machine; a step that fails does so at once, by its own check. */
export const PATIENCE_MS = 20_000;

if (!existsSync(join(dist, "index.html"))) throw new Error("dist/ holds no app: run make build");

const cleanUps = new WeakMap();

/**
 * Has something undone when the test is over, last things first: a browser is closed before its profile goes. (The
 * runner's own hooks run first things first, and stop at the first that fails.)
 */
export function afterwards(t, undo) {
  if (!cleanUps.has(t)) {
    cleanUps.set(t, []);
    t.after(async () => {
      const failed = [];
      for (const step of cleanUps.get(t).reverse()) await Promise.resolve().then(step).catch((error) => failed.push(error));
      if (failed.length > 0) throw failed[0];
    });
  }
  cleanUps.get(t).push(undo);
}

/** A folder that is gone when the test is over. */
export function tempDir(t) {
  const folder = mkdtempSync(join(tmpdir(), "sixty-ohms-"));
  afterwards(t, () => rmSync(folder, { recursive: true, force: true, maxRetries: 5, retryDelay: 100 }));
  return folder;
}

/** A place on the web. It keeps its address when it is stopped and started, as an origin must. */
export class Site {
  /** Each request as { name, dest }: the path below the base, and what the browser wants it for. */
  requests = [];
  #options;
  #server = null;

  constructor(options) {
    this.#options = options;
  }

  /** options as serve() takes them: dir, base, intercept. */
  static async start(t, options = {}) {
    const site = new Site(options);
    await site.start();
    afterwards(t, () => site.stop());
    return site;
  }

  /** Starts again, with other options where given: { dir } serves another version. */
  async start(options = {}) {
    assert.equal(this.#server, null, "the site is running already");
    Object.assign(this.#options, options);
    const { intercept } = this.#options;
    this.#server = await serve({
      ...this.#options,
      intercept: (request, response, name) => {
        this.requests.push({ name, dest: request.headers["sec-fetch-dest"] });
        return intercept?.(request, response, name);
      },
    });
    this.url = this.#server.url;
    this.#options.port = this.#server.port;
  }

  /** Returns when nobody listens any more and every connection is closed. */
  async stop() {
    const server = this.#server;
    this.#server = null;
    await server?.stop();
  }

  /** Changes to another version, or another behaviour, under the same address. */
  async change(options) {
    await this.stop();
    await this.start(options);
  }

  /** How often a file was asked for since the last forget(). */
  count(name) {
    return this.requests.filter((request) => request.name === name).length;
  }

  forget() {
    this.requests.length = 0;
  }
}

/**
 * A browser process with the given profile folder. Close it and open the same profile again for a cold start.
 * options go to the browser as they are: viewport, colorScheme, locale …
 */
export async function openBrowser(t, profile = tempDir(t), options = {}) {
  const browser = await chromium.launchPersistentContext(profile, {
    executablePath: BROWSER,
    args: ARGS,
    viewport: { width: 390, height: 844 },
    ...options,
  });
  browser.setDefaultTimeout(PATIENCE_MS);
  afterwards(t, () => browser.close());
  return browser;
}

/** A new tab at an address, when the app has drawn itself there. */
export async function visit(browser, url) {
  const page = await browser.newPage();
  await page.goto(url);
  await untilDrawn(page);
  return page;
}

/** Waits until the app has taken the place of the first paint, and all of it is here. */
export async function untilDrawn(page) {
  await page.locator("#first").waitFor({ state: "detached" });
  await page.locator("h1").first().waitFor();
  await page.waitForFunction(() => window.ohmsParts?.whole);
}

/**
 * Waits until a function in the page gives something true. Unlike the driver's own waiting it takes asynchronous
 * functions too, for which that one sees a promise, finds it true and does not wait at all.
 */
export async function until(page, what, ...args) {
  const end = Date.now() + PATIENCE_MS;
  for (;;) {
    if (await page.evaluate(what, ...args)) return;
    if (Date.now() > end) throw new Error(`waited in vain for ${what}`);
    await new Promise((done) => setTimeout(done, 50));
  }
}

/** Waits for a state of window.ohmsOffline, and returns { state, version }. */
export async function untilOffline(page, state) {
  try {
    await page.waitForFunction((wanted) => window.ohmsOffline?.state === wanted, state);
  } catch (cause) {
    const now = await offline(page);
    throw new Error(`expected "${state}", the app says ${JSON.stringify(now)}`, { cause });
  }
  return offline(page);
}

export function offline(page) {
  return page.evaluate(() => window.ohmsOffline);
}

/** The version that a built folder holds, and its list { "./path": hash }, read out of its worker. */
export function listOf(folder = dist) {
  const worker = readFileSync(join(folder, "sw.js"), "utf8");
  const [, version] = worker.match(/^const VERSION = "(\w+)";$/m);
  const [, files] = worker.match(/^const FILES = (\{[^}]+\});$/m);
  return { version, files: JSON.parse(files) };
}

/** A copy of the built app. */
export function copyOfDist(t) {
  const folder = join(tempDir(t), "dist");
  cpSync(dist, folder, { recursive: true });
  return folder;
}

/**
 * The next version of the app: another style sheet, under its new name, and a start page that names it and has
 * the given title in a meta tag (see markOf).
 */
export function nextVersion(t, mark) {
  const folder = copyOfDist(t);
  const old = filesIn(folder).find((name) => /^app-\w+\.css$/.test(name));
  const style = `${readFileSync(join(folder, old), "utf8")}\n/* ${mark} */\n`;
  const name = `app-${createHash("sha256").update(style).digest("hex").slice(0, 16)}.css`;
  renameSync(join(folder, old), join(folder, name));
  writeFileSync(join(folder, name), style);
  const start = join(folder, "index.html");
  const page = readFileSync(start, "utf8").replaceAll(old, name).replace("</head>", `<meta name="mark" content="${mark}">\n</head>`);
  writeFileSync(start, page);
  return { folder, style: name, version: seal(folder) };
}

/**
 * Has the browser look for a new version now, and says what became of it: "none", "installed" or "redundant". It waits longer
 * than a browser takes to compare two small scripts (common practice, no source).
 */
export const lookForNew = (page) =>
  page.evaluate(async () => {
    const registration = await navigator.serviceWorker.getRegistration();
    const found = new Promise((done) => {
      registration.addEventListener("updatefound", () => done(registration.installing), { once: true });
      setTimeout(done, 5000);
    });
    await registration.update();
    const worker = registration.installing ?? (await found);
    while (worker?.state === "installing") await new Promise((done) => worker.addEventListener("statechange", done, { once: true }));
    return worker?.state ?? "none";
  });

/** Which version's start page this is: "" for the built one. */
export function markOf(page) {
  return page.evaluate(() => document.querySelector("meta[name=mark]")?.content ?? "");
}

/** Everything in the origin's caches, as { cache: { address: hash } }. */
export function storedIn(page) {
  return page.evaluate(async () => {
    const stored = {};
    for (const name of await caches.keys()) {
      const cache = await caches.open(name);
      stored[name] = {};
      for (const request of await cache.keys()) {
        const body = await (await cache.match(request)).arrayBuffer();
        const hash = new Uint8Array(await crypto.subtle.digest("SHA-256", body));
        stored[name][request.url] = Array.from(hash, (byte) => byte.toString(16).padStart(2, "0")).join("");
      }
    }
    return stored;
  });
}

/** Everything that goes wrong in a page from now on: errors on its console (a broken policy too) and uncaught ones. */
export function troubles(page) {
  const list = [];
  page.on("console", (message) => message.type() === "error" && list.push(message.text()));
  page.on("pageerror", (error) => list.push(String(error)));
  return list;
}

const axeSource = () => readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");

/** What axe finds on the page as it stands, one line a finding; empty is what a journey wants. */
export async function axe(page, options = {}) {
  if (!(await page.evaluate(() => "axe" in window))) await page.evaluate(axeSource());
  const { violations } = await page.evaluate((given) => window.axe.run(document, given), options);
  return violations.flatMap(({ id, help, nodes }) => nodes.map(({ target }) => `${id}: ${help}: ${target.join(" ")}`));
}
