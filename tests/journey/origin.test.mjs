// The app asks nobody but its own host, on any screen, and its policy would stop it if it tried.

import assert from "node:assert/strict";
import { createServer } from "node:http";
import { test } from "node:test";
import { everyAddress, go } from "./addresses.mjs";
import { enter, go as goTo, onScreen, openCard, openDemo, touch } from "./app.mjs";
import { Site, afterwards, openBrowser, troubles, untilDrawn, untilOffline, visit } from "./lib.mjs";

/** What the policy refuses from now on, in every page of a browser, as { directive, blocked }. It outlives a reload. */
async function refusals(browser) {
  const list = [];
  await browser.exposeBinding("refused", (_, refused) => { list.push(refused); });
  await browser.addInitScript(() => {
    document.addEventListener("securitypolicyviolation", ({ effectiveDirective, blockedURI }) => {
      window.refused({ directive: effectiveDirective, blocked: blockedURI });
    });
  });
  return list;
}

/** Every request of every page and worker of a browser that goes neither to the site nor stays in the page. */
function elsewhere(browser, site) {
  const own = new URL(site.url).origin;
  const list = [];
  let all = 0;
  browser.on("request", (request) => {
    all += 1;
    const { origin, protocol } = new URL(request.url());
    if (origin !== own && !["data:", "blob:"].includes(protocol)) list.push(request.url());
  });
  return { list, count: () => all };
}

/** Where the browser goes by itself, whatever page is open; one of the app's own requests there is seen by the driver's events. */
const OWN_ERRAND = /^(http:\/\/)?([\w-]+\.)*(google|googleapis|gvt1)\.com[:/]/;

/** A place that the app has no business with, and what arrives there. */
async function stranger(t) {
  const arrived = [];
  const server = createServer((request, response) => {
    arrived.push(request.url);
    response.writeHead(200, { "Access-Control-Allow-Origin": "*", "Content-Type": "text/javascript" }).end("window.ran = true");
  });
  server.on("connect", (request, socket) => {
    arrived.push(request.url);
    socket.destroy();
  });
  await new Promise((done) => server.listen(0, "127.0.0.1", done));
  afterwards(t, () => new Promise((done) => { server.close(done); server.closeAllConnections(); }));
  return { url: `http://127.0.0.1:${server.address().port}`, arrived };
}

test("no screen asks anybody but the app's own host, and none breaks the policy", async (t) => {
  const site = await Site.start(t);
  // A proxy that every other address would have to go through: it sees what the driver's own events might miss.
  const proxy = await stranger(t);
  const browser = await openBrowser(t, undefined, { proxy: { server: proxy.url, bypass: `<-loopback>,${new URL(site.url).host}` } });
  const refused = await refusals(browser);
  const others = elsewhere(browser, site);
  const page = await visit(browser, site.url);
  const trouble = troubles(page);
  await untilOffline(page, "ready");
  const screens = await everyAddress(page);
  for (const hash of screens) await go(page, hash);
  // What is only done when asked for: a reading judged, a code drawn, a picture of a file, paper.
  await openDemo(page, "Lark");
  await openCard(page, "ohms");
  await enter(page, { "Ohms, wire H to wire L": "118,6" });
  await page.locator(".finding").first().waitFor();
  await page.emulateMedia({ media: "print" });
  await goTo(page, `${new URL(page.url()).hash.split("/card/")[0]}/record`);
  await onScreen(page, "Record");
  await page.emulateMedia({ media: "screen" });
  await goTo(page, `${new URL(page.url()).hash.replace("/record", "/share")}`);
  await onScreen(page, "Hand over");
  await touch(page, "Make the file");
  await Promise.all([page.waitForEvent("download"), touch(page, "Save the file")]);
  await page.reload();
  await untilDrawn(page);

  assert.ok(screens.length > 60 && others.count() > 10, `${screens.length} screens, ${others.count()} requests seen`);
  assert.deepEqual(others.list, []);
  assert.deepEqual(proxy.arrived.filter((address) => !OWN_ERRAND.test(address)), []);
  assert.deepEqual(refused, []);
  assert.deepEqual(trouble, []);
  t.diagnostic(`${screens.length} screens, ${others.count()} requests, all to ${new URL(site.url).origin}`);
});

test("what is put into the page by hand is refused, each thing for its own reason, and nothing leaves", async (t) => {
  const site = await Site.start(t);
  const other = await stranger(t);
  const browser = await openBrowser(t);
  const refused = await refusals(browser);
  const page = await visit(browser, site.url);

  /** Does something in the page; returns the directives that stopped it. Header and page state the same policy, and each refuses. */
  const refusedFor = async (act, arg) => {
    refused.length = 0;
    await page.evaluate(act, arg);
    // Longer than a refusal takes to be told (common practice, no source).
    for (let n = 0; n < 40 && refused.length === 0; n += 1) await page.waitForTimeout(50);
    return [...new Set(refused.map(({ directive }) => directive))];
  };
  const put = (tag, more) => [([tag, more]) => { document.body.append(Object.assign(document.createElement(tag), more)); }, [tag, more]];

  assert.deepEqual(await refusedFor(...put("script", { textContent: "window.ran = true" })), ["script-src-elem"]);
  assert.deepEqual(await refusedFor(...put("script", { src: `${other.url}/foreign.js` })), ["script-src-elem"]);
  assert.deepEqual(await refusedFor(...put("style", { textContent: "body { display: none }" })), ["style-src-elem"]);
  assert.deepEqual(await refusedFor(() => document.body.setAttribute("style", "display: none")), ["style-src-attr"]);
  assert.deepEqual(await refusedFor(...put("img", { src: `${other.url}/foreign.png` })), ["img-src"]);
  assert.deepEqual(await refusedFor(...put("iframe", { src: `${other.url}/foreign` })), ["frame-src"]);
  assert.deepEqual(await refusedFor((url) => fetch(url).catch(() => {}), `${other.url}/foreign`), ["connect-src"]);
  assert.deepEqual(await refusedFor((url) => void navigator.sendBeacon(url, "x"), `${other.url}/beacon`), ["connect-src"]);
  assert.deepEqual(await refusedFor((url) => { try { new WebSocket(url); } catch {} }, other.url.replace("http", "ws")), ["connect-src"]);
  assert.deepEqual(await refusedFor(() => {
    // Later, since a driver may do what a page may not.
    setTimeout(() => (0, eval)("window.ran = true"));
  }), ["script-src"]);
  assert.deepEqual(await refusedFor((url) => {
    const form = Object.assign(document.createElement("form"), { action: url });
    document.body.append(form);
    form.submit();
  }, `${other.url}/form`), ["form-action"]);
  // An attribute that would run, as markup from a job or a pack would bring it.
  assert.deepEqual(await refusedFor(() => {
    document.body.insertAdjacentHTML("beforeend", "<img src='data:,' onerror='window.ran = true'>");
  }), ["script-src-attr"]);

  assert.equal(await page.evaluate(() => "ran" in window), false);
  assert.notEqual(await page.evaluate(() => getComputedStyle(document.body).display), "none");
  assert.deepEqual(other.arrived, []);
  // What may be shown is shown: the listener does not simply see everything.
  assert.deepEqual(await refusedFor(() => {
    const image = new Image();
    image.src = URL.createObjectURL(new Blob(["<svg xmlns='http://www.w3.org/2000/svg'/>"], { type: "image/svg+xml" }));
    document.body.append(image);
    return image.decode().catch(() => {});
  }), []);
});
