// Three engines under one roof: Chromium and Firefox by puppeteer (DevTools protocol, WebDriver BiDi), WebKit by plain W3C
// WebDriver over fetch. What they can do here is a handful: open a profile, go to an address, reload, evaluate, touch an
// element, press keys, choose a file, open another tab, close, be killed. Touches and keys are the browser's own, so that the
// page sees trusted events. page.mjs makes of it the page object that the words of app.mjs are spoken to.

import { spawn } from "node:child_process";
import { mkdirSync } from "node:fs";
import { createRequire } from "node:module";
import { createServer } from "node:net";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { root } from "../../tools/paths.mjs";
import { killGroup, ownFirefox, started } from "./kill.mjs";
import { ARGS, BROWSER, PATIENCE_MS, afterwards, tempDir } from "./lib.mjs";
import { Page } from "./page.mjs";

const puppeteer = createRequire(join(root, "tools", "package.json"))("puppeteer-core");

const WEBKIT_DRIVER = process.env.WEBKIT_DRIVER || "/usr/bin/WebKitWebDriver";
/** Debian's, since its packages hold the binding to the library. */
const PYTHON = "/usr/bin/python3";
const WEBKIT = fileURLToPath(new URL("webkit.py", import.meta.url));
const PHONE = { width: 390, height: 844 };

const pause = (ms) => new Promise((done) => setTimeout(done, ms));

/** A tab that puppeteer drives. */
class Puppet {
  #page;

  constructor(page) {
    this.#page = page;
    page.setDefaultTimeout(PATIENCE_MS);
    page.setDefaultNavigationTimeout(2 * PATIENCE_MS);
  }

  goto(url) {
    return this.#page.goto(url);
  }

  reload() {
    return this.#page.reload();
  }

  back() {
    return this.#page.goBack();
  }

  /** The value of an expression, which may be a promise. */
  evaluate(expression) {
    return this.#page.evaluate(expression);
  }

  /** The element that an expression gives, or null. */
  async element(expression) {
    return (await this.#page.evaluateHandle(expression)).asElement();
  }

  click(element) {
    return element.click();
  }

  type(text) {
    return this.#page.keyboard.type(text);
  }

  press(key) {
    return this.#page.keyboard.press(key);
  }

  choose(element, ...paths) {
    return element.uploadFile(...paths);
  }

  close() {
    return this.#page.close();
  }
}

async function chromium(profile) {
  const args = [...ARGS, "--headless", "--remote-debugging-port=0", `--user-data-dir=${profile}`, "about:blank"];
  const { address, kill } = await started(BROWSER, args, /DevTools listening on (ws:\S+)/);
  const browser = await puppeteer.connect({ browserWSEndpoint: address, defaultViewport: PHONE });
  const downloads = join(profile, "downloads");
  const session = await browser.target().createCDPSession();
  await session.send("Browser.setDownloadBehavior", { behavior: "allow", downloadPath: downloads });
  return { tab: async () => new Puppet(await browser.newPage()), close: () => browser.close(), kill, downloads };
}

async function firefox(profile) {
  const downloads = join(profile, "downloads");
  mkdirSync(downloads, { recursive: true });
  const { browser, kill } = await ownFirefox(profile, {
    "browser.download.dir": downloads,
    "browser.download.folderList": 2,
    "browser.download.always_ask_before_handling_new_types": false,
  });
  const tab = async () => {
    const page = await browser.newPage();
    await page.setViewport(PHONE);
    return new Puppet(page);
  };
  return { tab, close: () => browser.close(), kill, downloads };
}

// W3C WebDriver: the name under which an element travels, and keys that are no letters.
const ELEMENT = "element-6066-11e4-a52e-4f735466cecf";
const KEYS = { Backspace: "\uE003", Tab: "\uE004", Enter: "\uE007", Escape: "\uE00C", Delete: "\uE017" };

/** A session of WebKitWebDriver. Commands go one after another, since each is for the window that was last switched to. */
class Session {
  #base;
  #window = null;
  #last = Promise.resolve();

  constructor(base) {
    this.#base = base;
  }

  async send(method, path, body) {
    const answer = await fetch(this.#base + path, { method, ...(body ? { body: JSON.stringify(body) } : {}) });
    const { value } = await answer.json();
    if (!answer.ok) throw new Error(`${method} ${path}: ${value?.error}: ${value?.message}`);
    return value;
  }

  /** A command for one window. */
  inWindow(handle, method, path, body) {
    const turn = this.#last.then(async () => {
      if (this.#window !== handle) await this.send("POST", "/window", { handle });
      this.#window = handle;
      return this.send(method, path, body);
    });
    this.#last = turn.catch(() => {});
    return turn;
  }
}

/** A tab of WebKit. */
class Window {
  #send;

  constructor(session, handle) {
    this.#send = (...command) => session.inWindow(handle, ...command);
  }

  goto(url) {
    return this.#send("POST", "/url", { url });
  }

  reload() {
    return this.#send("POST", "/refresh", {});
  }

  back() {
    return this.#send("POST", "/back", {});
  }

  async evaluate(expression) {
    const script = `const done = arguments[0];
      Promise.resolve().then(() => ${expression}).then((value) => done({ value }), (error) => done({ error: String(error?.stack ?? error) }));`;
    const { value, error } = await this.#send("POST", "/execute/async", { script, args: [] });
    if (error) throw new Error(error);
    return value;
  }

  async element(expression) {
    return (await this.evaluate(expression))?.[ELEMENT] ?? null;
  }

  click(element) {
    return this.#send("POST", `/element/${element}/click`, {});
  }

  type(text) {
    const actions = [...text].flatMap((value) => ["keyDown", "keyUp"].map((type) => ({ type, value })));
    return this.#send("POST", "/actions", { actions: [{ type: "key", id: "keys", actions }] });
  }

  press(key) {
    return this.type(KEYS[key] ?? key);
  }

  choose(element, ...paths) {
    return this.#send("POST", `/element/${element}/value`, { text: paths.join("\n") });
  }

  close() {
    return this.#send("DELETE", "/window");
  }
}

/** A port that nobody listens at. */
const freePort = () =>
  new Promise((done, failed) => {
    const server = createServer().on("error", failed);
    server.listen(0, "127.0.0.1", () => {
      const { port } = server.address();
      server.close(() => done(port));
    });
  });

/** A screen in memory, as { display, kill() }. */
async function screen() {
  const child = spawn("Xvfb", ["-displayfd", "3", "-screen", "0", "1400x1000x24", "-nolisten", "tcp"], {
    detached: true,
    stdio: ["ignore", "ignore", "ignore", "pipe"],
  });
  const gone = new Promise((done) => child.on("exit", done));
  const display = await new Promise((done, failed) => {
    child.on("error", failed);
    child.on("exit", () => failed(new Error("Xvfb did not start")));
    child.stdio[3].once("data", (data) => done(`:${String(data).trim()}`));
  });
  return { display, kill: () => killGroup(child, gone) };
}

async function webkit(profile) {
  const { display, kill: killScreen } = await screen();
  const port = await freePort();
  const env = { ...process.env, DISPLAY: display, HOME: profile, NO_AT_BRIDGE: "1" };
  for (const [name, folder] of [["DATA", "data"], ["CACHE", "cache"], ["CONFIG", "config"]]) env[`XDG_${name}_HOME`] = join(profile, folder);
  // A phone's language is English unless a journey says otherwise; the library has no name for the language "C".
  env.LANG = "en_GB.UTF-8";
  const child = spawn(WEBKIT_DRIVER, [`--port=${port}`], { env, detached: true, stdio: "ignore" });
  const gone = new Promise((done) => child.on("exit", done));
  const kill = async () => {
    await killGroup(child, gone);
    await killScreen();
  };
  try {
    const base = `http://127.0.0.1:${port}`;
    const end = Date.now() + PATIENCE_MS;
    while (!(await fetch(`${base}/status`).then((answer) => answer.ok, () => false))) {
      if (Date.now() > end) throw new Error(`${WEBKIT_DRIVER} does not answer`);
      await pause(50);
    }
    const options = { binary: PYTHON, args: [WEBKIT, profile] };
    const { sessionId } = await new Session(base).send("POST", "/session", {
      capabilities: { alwaysMatch: { "webkitgtk:browserOptions": options } },
    });
    const session = new Session(`${base}/session/${sessionId}`);
    let first = await session.send("GET", "/window");
    const tab = async () => {
      // The window that the session began with is the first tab.
      const handle = first ?? (await session.send("POST", "/window/new", { type: "tab" })).handle;
      first = null;
      return new Window(session, handle);
    };
    const close = async () => {
      await session.send("DELETE", "");
      await kill();
    };
    return { tab, close, kill, downloads: join(profile, "downloads") };
  } catch (error) {
    await kill();
    throw error;
  }
}

const OPEN = { chromium, firefox, webkit };

export const ENGINES = Object.keys(OPEN);

/**
 * A browser process with the given profile folder: { engine, downloads, newPage(), close(), kill() }. Close or kill it and open the
 * same profile again for a cold start. downloads is the folder where files go that the app gives away.
 */
export async function openEngine(t, engine, profile = tempDir(t)) {
  const { tab, close, kill, downloads } = await OPEN[engine](profile);
  afterwards(t, kill);
  return { engine, downloads, close, kill, newPage: async () => new Page(await tab()) };
}
