// Starts the app, and tells it how it stands with working offline. Plain JavaScript, because it has to work
// when the wasm does not.
//
// The contract with the app:
//
//   window.ohmsOffline = { state, version }
//       Always there. version is that of the copy on this phone, "" while none is known.
//       "unsupported"  this browser cannot keep the app (or the page did not come over https)
//       "storing"      the copy is being made or checked
//       "ready"        every file is stored: the worker is active and has just looked
//       "update"       a newer version is stored whole and waits to be asked for
//       "failed"       no whole copy could be made; with a signal the app works all the same
//   CustomEvent "ohms-offline" on window, detail as above, whenever either changes.
//   window.ohmsApplyUpdate()   changes to the waiting version and loads the page anew, in this tab only. Save first.
//   window.ohmsContent         what the first screen says, in the language of the phone or the chosen one, before the app starts
//   window.ohmsContentRest     all other content, before any screen that needs it; Event "ohms-content" on window when it comes later
//   window.ohmsKeepError(text) keeps what went wrong under ohms.error, for the page that reports it
//   window.ohmsColourBar()     colours the browser's bar as the page, after the look was changed
//   window.ohmsHalt()          shows the box that says the app stopped. Never calls into the wasm.
//   window.ohmsParts           { whole, early }: is all code here; which parts the app called before they were
//
// The app removes #first when it is drawn.

const GLUE = "{{glue}}";
const FIRST = "{{first}}";
const LATER = "{{later}}";
const CONTENT = {
  en: { first: "{{content_en_first}}", rest: "{{content_en_rest}}" },
  de: { first: "{{content_de_first}}", rest: "{{content_de_rest}}" },
};

const START_MS = 10_000;
const ANSWER_MS = 15_000;
const HANDOVER_MS = 1_000;
const LOOK_AGAIN_MS = 60 * 60 * 1000;
const BRING_AGAIN_MS = 3_000; // common practice, no source
const WAIT_SHOWN_MS = 300; // common practice, no source: a shorter wait needs no word
const DRAWN_MS = 500; // common practice, no source: a first screen that takes longer may be waiting for the rest

/** The chosen language, else the first of the phone's that the content is written in. */
function tongue() {
  let chosen = "";
  try {
    chosen = JSON.parse(localStorage.getItem("ohms.tongue"));
  } catch {} // storage refused, or something else in it
  const tags = [chosen, ...(navigator.languages ?? [])].map((tag) => String(tag).split(/[-_]/)[0].toLowerCase());
  return tags.find((tag) => Object.hasOwn(CONTENT, tag)) ?? "en";
}

document.documentElement.lang = tongue();

/** The browser's own bar in the colour of the page: that of the chosen look, else of the phone's. */
window.ohmsColourBar = () => {
  const { look = "system" } = document.documentElement.dataset;
  const own = look !== "system";
  const paper = own && getComputedStyle(document.documentElement).getPropertyValue("--paper").trim();
  for (const bar of document.querySelectorAll("meta[name=theme-color]")) {
    bar.dataset.usual ??= bar.content;
    bar.content = own ? paper : bar.dataset.usual;
  }
};

// The chosen look and hand, before the first paint is replaced.
for (const name of ["look", "hand"]) {
  try {
    const kept = JSON.parse(localStorage.getItem(`ohms.${name}`));
    if (/^[a-z]+$/.test(kept)) document.documentElement.dataset[name] = kept;
  } catch {} // as above
}
window.ohmsColourBar();

// The first error in the life of a page is what went wrong; others follow from it.
let erred = false;
window.ohmsKeepError = (error) => {
  if (erred) return;
  erred = true;
  const text = `${new Date().toISOString().slice(0, 16)} ${error?.message ?? error}`;
  try {
    localStorage.setItem("ohms.error", JSON.stringify(text.slice(0, 2000)));
  } catch {}
};

async function fetchContent(part) {
  const response = await fetch(new URL(CONTENT[document.documentElement.lang][part], import.meta.url));
  if (!response.ok) throw new Error(`${response.url}: ${response.status}`);
  return response.text();
}

// Reveals what index.html already holds.

const element = (id) => document.getElementById(id);

window.ohmsHalt = () => {
  const box = element("halt");
  if (!box || !box.hidden) return;
  box.hidden = false;
  element("halt-reload").focus();
};

function showHelp() {
  const help = element("first-help");
  if (help) help.hidden = false;
}

for (const id of ["halt-reload", "first-reload"]) {
  element(id)?.addEventListener("click", () => location.reload());
}

const wasmStopped = (error) => error instanceof WebAssembly.RuntimeError;
window.addEventListener("error", (event) => {
  if (event.error) window.ohmsKeepError(event.error);
  if (wasmStopped(event.error)) window.ohmsHalt();
});
window.addEventListener("unhandledrejection", (event) => {
  window.ohmsKeepError(event.reason);
  if (wasmStopped(event.reason)) window.ohmsHalt();
});

// The app's code comes in parts (tools/parts.mjs). The first screen is drawn when the parts that it needs are here, and
// what is touched before all are is held, and done then.

const later = LATER.map((file) => ({ url: new URL(file, import.meta.url), module: null, here: false }));
const early = [];
let imports = null;
let main = null;

window.ohmsParts = {
  whole: later.length === 0,
  early,
  imports(page) {
    imports = page;
    return { ...page, parts: { bring } };
  },
  exports(exports) {
    main = exports;
    for (const part of later) if (part.module) join(part);
    return exports;
  },
};

function join(part) {
  if (!part.here) new WebAssembly.Instance(part.module, { ...imports, main });
  part.here = true;
}

/** Called by the app when it needs a part at once. Only a list that is out of date lets it come to that. */
function bring(number) {
  const part = later[number - 1];
  if (part.here) return;
  early.push(number);
  part.module ??= new WebAssembly.Module(fetchedAtOnce(part.url));
  join(part);
}

/** A file's bytes, the page standing still until they are here. */
function fetchedAtOnce(url) {
  const request = new XMLHttpRequest();
  request.open("GET", url, false);
  request.overrideMimeType("text/plain; charset=x-user-defined"); // one character for each byte
  request.send();
  if (request.status !== 200) throw new Error(`${url}: ${request.status}`);
  return Uint8Array.from(request.responseText, (character) => character.charCodeAt(0) & 0xff);
}

async function compiled(part) {
  const response = await fetch(part.url);
  if (!response.ok) throw new Error(`${part.url}: ${response.status}`);
  part.module ??= await WebAssembly.compileStreaming(response);
}

/** How many later parts a screen is drawn with (tools/first-screens.mjs shows the same ones). One that this does not know has all. */
function neededBy(hash) {
  if (/^(#\/?)?$/.test(hash) && isEmpty()) return 0;
  if (/^(#\/?)?$|^#\/(jobs|job\/[^/]+)$/.test(hash)) return 1;
  return hash === "#/alarms" ? 2 : later.length;
}

/** Whether nobody has kept a job or a pack on this phone. */
function isEmpty() {
  try {
    return !Object.keys(localStorage).some((key) => key.startsWith("ohms.job.") || key === "ohms.packs");
  } catch {
    return true; // storage refused
  }
}

/** Has the browser open what it keeps databases in, while the code is on its way. */
function wakeStore() {
  try {
    indexedDB.databases().catch(() => {});
  } catch {} // refused, or not known: the app says so where it matters
}

const pause = (ms) => new Promise((done) => setTimeout(done, ms));

/** The first screen has been painted. */
const painted = new Promise((done) => {
  const watch = new MutationObserver(() => {
    if (element("first")) return;
    watch.disconnect();
    requestAnimationFrame(() => setTimeout(done));
  });
  watch.observe(document.body, { childList: true });
});

/** Brings all parts that are not here, however long that takes. The first screen goes before. */
async function bringAll() {
  // A page that is not seen is not painted: not waited for without end.
  await Promise.race([painted, pause(DRAWN_MS)]);
  for (const part of later) {
    while (!part.here) {
      try {
        await compiled(part);
        join(part);
      } catch (error) {
        if (!(error instanceof TypeError) && !part.module) console.error(error);
        tried(); // what the phone has kept of an earlier version may be whole
        await pause(BRING_AGAIN_MS);
      }
    }
  }
  while (!window.ohmsContentRest) {
    try {
      window.ohmsContentRest = await fetchContent("rest");
    } catch {
      tried();
      await pause(BRING_AGAIN_MS);
    }
  }
  window.dispatchEvent(new Event("ohms-content"));
  window.ohmsParts.whole = true;
  release();
  tried();
}

let tried;
const allTried = new Promise((done) => { tried = done; });

// Held touches. The app's own listeners come after these.

const held = [];
const HELD = ["click", "input", "change", "submit", "hashchange"];

function hold(event) {
  if (window.ohmsParts.whole || !main) return;
  if (event.target?.closest?.("#first, #halt")) return;
  event.stopImmediatePropagation();
  if (event.type === "click" || event.type === "submit") event.preventDefault();
  held.push(event);
  if (held.length === 1) setTimeout(() => showWait(held.length > 0), WAIT_SHOWN_MS);
}

function showWait(shown) {
  const box = element("wait");
  if (box) box.hidden = !shown;
}

function again(type) {
  const how = { bubbles: true, cancelable: true, composed: true };
  return type === "click" ? new MouseEvent(type, { ...how, view: window }) : new Event(type, how);
}

function release() {
  for (const type of HELD) window.removeEventListener(type, hold, true);
  showWait(false);
  for (const event of held.splice(0)) {
    const { target, type } = event;
    if (type === "hashchange") window.dispatchEvent(new HashChangeEvent(type));
    else if (target.isConnected) target.dispatchEvent(again(type));
  }
}

if (!window.ohmsParts.whole) for (const type of HELD) window.addEventListener(type, hold, true);

// Offline state.

window.ohmsOffline = { state: "storing", version: "" };

function tell(state, version = window.ohmsOffline.version) {
  const now = window.ohmsOffline;
  if (now.state === state && now.version === version) return;
  window.ohmsOffline = { state, version };
  window.dispatchEvent(new CustomEvent("ohms-offline", { detail: window.ohmsOffline }));
}

/** Asks a worker whether its copy is whole. No answer in time counts as no. */
function verify(worker) {
  return new Promise((resolve) => {
    const { port1, port2 } = new MessageChannel();
    const timer = setTimeout(() => resolve({ ok: false }), ANSWER_MS);
    port1.onmessage = ({ data }) => {
      clearTimeout(timer);
      port1.close();
      resolve(data);
    };
    worker.postMessage({ type: "verify" }, [port2]);
  });
}

function keepOffline() {
  const container = navigator.serviceWorker;
  let registration = null;
  let round = 0;
  let asked = false; // this tab asked for the new version
  let overtaken = false; // another tab did: this page still runs the old one

  // Looks at the whole situation anew, and lets the last look win. The active worker is left in peace while a new
  // one comes: a message at that moment can keep the browser from handing over to one that asks for it at once.
  async function look() {
    const mine = ++round;
    const known = window.ohmsOffline.version;
    const { installing, waiting, active } = registration;
    if (overtaken) return tell("update");
    if (!active) return tell(installing || waiting ? "storing" : "failed");
    if (installing) return undefined; // the end of the install brings us back
    // So does the worker's next change. A WebKit page that was loaded while it was activating is never told of one: it asks.
    if (active.state !== "activated") await new Promise((done) => setTimeout(done, HANDOVER_MS));
    if (mine !== round) return undefined;
    if (waiting && known) return tell("update");
    if (waiting) await new Promise((done) => setTimeout(done, HANDOVER_MS));
    if (mine !== round) return undefined;
    const { ok, version = known } = await verify(active);
    if (mine !== round) return undefined;
    if (waiting) return tell("update", version);
    return tell(ok ? "ready" : "failed", version);
  }

  function follow(worker) {
    worker?.addEventListener("statechange", look);
  }

  const worker = (script) => container.register(script, { updateViaCache: "none" });

  async function start() {
    // Without a signal, or with a broken server, the copy made earlier is as good as it was.
    registration = await worker(new URL("./sw.js", import.meta.url)).catch(() => container.getRegistration());
    if (!registration) return tell("failed");
    registration.addEventListener("updatefound", () => {
      follow(registration.installing);
      look();
    });
    for (const known of [registration.installing, registration.waiting, registration.active]) follow(known);
    return look();
  }

  let controlled = container.controller !== null;
  container.addEventListener("controllerchange", () => {
    if (asked) {
      asked = false;
      location.reload();
    } else if (controlled) {
      overtaken = true;
      if (registration) look();
    }
    controlled = true;
  });

  window.ohmsApplyUpdate = () => {
    const waiting = registration?.waiting;
    if (!waiting) {
      if (overtaken) location.reload();
      return;
    }
    asked = true;
    // A page that no worker controls (after a forced reload) is told of no change of worker.
    waiting.addEventListener("statechange", () => {
      if (asked && waiting.state === "activated") {
        asked = false;
        location.reload();
      }
    });
    waiting.postMessage({ type: "apply" });
  };

  // An installed app may stay open for weeks, and a browser looks for a new version only when a page loads.
  let looked = Date.now();
  function lookForNew() {
    if (!registration || document.visibilityState !== "visible" || !navigator.onLine) return;
    if (Date.now() - looked < LOOK_AGAIN_MS) return;
    looked = Date.now();
    registration.update().catch(() => {}); // no signal after all: the next chance will do
  }
  document.addEventListener("visibilitychange", lookForNew);
  window.addEventListener("online", lookForNew);

  // After the app is here, so that storing never competes with the first start.
  allTried.then(start);
}

window.ohmsApplyUpdate = () => {};
if (navigator.serviceWorker && window.isSecureContext) keepOffline();
else tell("unsupported");

// The app itself.

const slow = setTimeout(() => {
  if (element("first")) showHelp();
}, START_MS);

try {
  wakeStore();
  const needed = later.slice(0, neededBy(location.hash));
  const rest = needed.length > 0 ? fetchContent("rest") : undefined;
  const [{ default: init }, first, all] = await Promise.all([import(GLUE), fetchContent("first"), rest, ...needed.map(compiled)]);
  window.ohmsContent = first;
  window.ohmsContentRest = all;
  await init({ module_or_path: new URL(FIRST, import.meta.url) });
  clearTimeout(slow);
  bringAll();
} catch (error) {
  window.ohmsKeepError(error);
  if (wasmStopped(error)) window.ohmsHalt();
  else showHelp();
  tried();
  console.error(error);
}
