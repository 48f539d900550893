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
//   window.ohmsContent         the text of the content's file, in the language of the phone or the chosen one, before the app starts
//   window.ohmsHalt()          shows the box that says the app stopped. Never calls into the wasm.
//
// The app removes #first when it is drawn.

const GLUE = "{{glue}}";
const WASM = "{{wasm}}";
const CONTENT = { en: "{{content_en}}", de: "{{content_de}}" };

const START_MS = 10_000;
const ANSWER_MS = 15_000;
const HANDOVER_MS = 1_000;
const LOOK_AGAIN_MS = 60 * 60 * 1000;

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

async function fetchContent() {
  const response = await fetch(new URL(CONTENT[document.documentElement.lang], import.meta.url));
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
  if (wasmStopped(event.error)) window.ohmsHalt();
});
window.addEventListener("unhandledrejection", (event) => {
  if (wasmStopped(event.reason)) window.ohmsHalt();
});

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
    try {
      registration = await worker(new URL("./sw.js", import.meta.url));
    } catch {
      // Without a signal, or with a broken server, the copy made earlier is as good as it was.
      registration = await container.getRegistration();
      if (!registration) return tell("failed");
    }
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

  // After load, so that storing never competes with the first start.
  if (document.readyState === "complete") start();
  else window.addEventListener("load", start, { once: true });
}

window.ohmsApplyUpdate = () => {};
if ("serviceWorker" in navigator && window.isSecureContext) keepOffline();
else tell("unsupported");

// The app itself.

const slow = setTimeout(() => {
  if (element("first")) showHelp();
}, START_MS);

try {
  const [{ default: init }, content] = await Promise.all([import(GLUE), fetchContent()]);
  window.ohmsContent = content;
  await init({ module_or_path: new URL(WASM, import.meta.url) });
  clearTimeout(slow);
} catch (error) {
  if (wasmStopped(error)) window.ohmsHalt();
  else showHelp();
  console.error(error);
}
