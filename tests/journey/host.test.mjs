// The server for development and journeys, and what the app asks of any host.

import assert from "node:assert/strict";
import { existsSync, readFileSync } from "node:fs";
import { request } from "node:http";
import { join } from "node:path";
import { test } from "node:test";
import { brotliDecompressSync, gunzipSync } from "node:zlib";
import { dist } from "../../tools/paths.mjs";
import { Site, listOf } from "./lib.mjs";

/** One request, its path sent exactly as given. */
const ask = (site, path, headers = {}, method = "GET") =>
  new Promise((done, failed) => {
    const { hostname, port } = new URL(site.url);
    const asked = request({ hostname, port, path, method, headers }, async (answer) => {
      const parts = [];
      for await (const part of answer) parts.push(part);
      done({ status: answer.statusCode, headers: answer.headers, body: Buffer.concat(parts) });
    });
    asked.on("error", failed).end();
  });

test("each file comes with its type, its lifetime and nothing to guess", async (t) => {
  const site = await Site.start(t);
  const types = {
    css: "text/css; charset=utf-8",
    js: "text/javascript; charset=utf-8",
    json: "application/json",
    png: "image/png",
    svg: "image/svg+xml",
    wasm: "application/wasm",
    webmanifest: "application/manifest+json",
  };
  for (const path of [...Object.keys(listOf().files), "./sw.js"]) {
    const { status, headers, body } = await ask(site, path.slice(1));
    const type = path === "./" ? "text/html; charset=utf-8" : types[path.split(".").pop()];
    assert.deepEqual([path, status, headers["content-type"]], [path, 200, type]);
    const lasting = /-[0-9a-f]{16}\.\w+$/.test(path);
    assert.equal(headers["cache-control"], lasting ? "public, max-age=31536000, immutable" : "no-cache", path);
    assert.equal(headers["x-content-type-options"], "nosniff");
    assert.equal(headers["referrer-policy"], "no-referrer");
    assert.deepEqual(body, readFileSync(join(dist, path === "./" ? "index.html" : path)));
  }
});

test("compressed copies are sent to those who take them, and hold the same", async (t) => {
  const site = await Site.start(t);
  const plain = readFileSync(join(dist, "index.html"));
  for (const [accepted, encoding, open] of [
    ["gzip, deflate, br", "br", brotliDecompressSync],
    ["gzip;q=0.8, br;q=0", "gzip", gunzipSync],
    ["deflate", undefined, (body) => body],
  ]) {
    const { headers, body } = await ask(site, "/", { "Accept-Encoding": accepted });
    assert.equal(headers["content-encoding"], encoding, accepted);
    assert.equal(headers.vary, "Accept-Encoding");
    assert.deepEqual(open(body), plain);
  }
});

test("nothing outside the app is served", async (t) => {
  const site = await Site.start(t, { base: "/sub/" });
  assert.ok(existsSync(join(dist, "..", "index.html")), "there is a page to steal");
  const inside = await ask(site, "/sub/icons/../index.html");
  assert.equal(inside.status, 200);
  for (const path of [
    "/sub/../index.html",
    "/sub/%2e%2e/index.html",
    "/sub/..%2findex.html",
    "/sub/..%5cindex.html",
    "/sub/icons",
    "/sub/index.html%00.js",
    "/sub/%",
    "/index.html",
    "/",
  ]) {
    assert.equal((await ask(site, path)).status, 404, path);
  }
  assert.equal((await ask(site, "/sub")).headers.location, "/sub/");
  assert.equal((await ask(site, "/sub/", {}, "POST")).status, 405);
});

test("the manifest is what phones ask for before they install", async () => {
  const manifest = JSON.parse(readFileSync(join(dist, "manifest.webmanifest"), "utf8"));
  assert.equal(manifest.name, "Sixty Ohms");
  assert.deepEqual([manifest.start_url, manifest.scope, manifest.display], ["./", "./", "standalone"]);
  const sizeOf = (png) => {
    const bytes = readFileSync(join(dist, png));
    return `${bytes.readUInt32BE(16)}x${bytes.readUInt32BE(20)}`;
  };
  for (const { src, sizes } of manifest.icons) assert.equal(sizeOf(src), sizes, src);
  const plain = manifest.icons.filter((icon) => !icon.purpose).map((icon) => icon.sizes);
  assert.deepEqual(plain, ["192x192", "512x512"]);
  assert.deepEqual(manifest.icons.filter((icon) => icon.purpose).map((icon) => icon.purpose), ["maskable"]);
  assert.equal(sizeOf("icons/apple-touch-icon.png"), "180x180");
});
