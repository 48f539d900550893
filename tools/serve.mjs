// Serves the built app as a good host would: right types, compressed siblings, lasting names kept for ever.
//
//   node tools/serve.mjs [--dir dist] [--host 127.0.0.1] [--port 8060] [--base /]
//
// HOST and PORT from the environment count where the option is absent. --base /sub/ serves the app under a path.

import { createReadStream, existsSync, readFileSync, statSync } from "node:fs";
import { STATUS_CODES, createServer } from "node:http";
import { extname, join, resolve, sep } from "node:path";
import { fileURLToPath } from "node:url";
import { parseArgs } from "node:util";
import { dist } from "./paths.mjs";

const TYPES = {
  ".css": "text/css; charset=utf-8",
  ".html": "text/html; charset=utf-8",
  ".js": "text/javascript; charset=utf-8",
  ".png": "image/png",
  ".svg": "image/svg+xml",
  ".wasm": "application/wasm",
  ".json": "application/json",
  ".webmanifest": "application/manifest+json",
};
const HASHED = /-[0-9a-f]{16}\.(css|js|json|wasm)$/;

/** The policy that index.html states, so that the header and the page cannot differ. */
function policy(folder) {
  const page = readFileSync(join(folder, "index.html"), "utf8");
  const found = page.match(/http-equiv="Content-Security-Policy" content="([^"]+)"/);
  if (!found) throw new Error("index.html states no Content-Security-Policy");
  return found[1];
}

/** The file that an address below the base names, or null. */
function fileFor(folder, path) {
  let name;
  try {
    name = decodeURIComponent(path);
  } catch {
    return null;
  }
  if (name.includes("\0") || name.includes("\\")) return null;
  const file = resolve(folder, name === "" ? "index.html" : name);
  if (!file.startsWith(folder + sep) || !(extname(file) in TYPES)) return null;
  return existsSync(file) && statSync(file).isFile() ? file : null;
}

/** The best encoding that the browser takes and the build made, and the file that holds it. */
function encodingFor(file, accepted = "") {
  const refused = /;\s*q=0(\.0*)?\s*$/;
  const taken = accepted.split(",").filter((item) => !refused.test(item)).map((item) => item.split(";")[0].trim());
  for (const [name, extension] of [["br", ".br"], ["gzip", ".gz"]]) {
    if (taken.includes(name) && existsSync(file + extension)) return [name, file + extension];
  }
  return [null, file];
}

/**
 * Starts a server and returns { url, port, stop() }. stop() closes every open connection too: to the browser the
 * server is then really gone.
 *
 * intercept(request, response, name), for tests, sees each request first; if it returns true it has dealt with it.
 */
export async function serve({ dir = dist, host = "127.0.0.1", port = 0, base = "/", intercept } = {}) {
  const folder = resolve(dir);
  if (!existsSync(join(folder, "index.html"))) throw new Error(`${folder} holds no app: run make build`);
  if (!base.startsWith("/") || !base.endsWith("/")) throw new Error("the base must begin and end with /");

  const headers = {
    "Content-Security-Policy": policy(folder),
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
  };

  const server = createServer((request, response) => {
    const path = request.url.split(/[?#]/, 1)[0];
    const end = (status, extra = {}) => {
      const plain = { "Cache-Control": "no-store", "Content-Type": "text/plain; charset=utf-8" };
      response.writeHead(status, { ...headers, ...plain, ...extra }).end(STATUS_CODES[status]);
    };
    if (request.method !== "GET" && request.method !== "HEAD") return end(405, { Allow: "GET, HEAD" });
    if (`${path}/` === base) return end(301, { Location: base });
    if (!path.startsWith(base)) return end(404);
    const name = path.slice(base.length);
    if (intercept?.(request, response, name)) return undefined;
    const file = fileFor(folder, name);
    if (!file) return end(404);

    const [encoding, sent] = encodingFor(file, request.headers["accept-encoding"]);
    response.writeHead(200, {
      ...headers,
      "Cache-Control": HASHED.test(file) ? "public, max-age=31536000, immutable" : "no-cache",
      "Content-Length": statSync(sent).size,
      "Content-Type": TYPES[extname(file)],
      Vary: "Accept-Encoding",
      ...(encoding ? { "Content-Encoding": encoding } : {}),
    });
    if (request.method === "HEAD") return response.end();
    return createReadStream(sent).on("error", () => response.destroy()).pipe(response);
  });

  await new Promise((done, failed) => {
    server.once("error", failed);
    server.listen(port, host, done);
  });
  const taken = server.address().port;
  return {
    url: `http://${host}:${taken}${base}`,
    port: taken,
    stop: () =>
      new Promise((done) => {
        server.close(done);
        server.closeAllConnections();
      }),
  };
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const { values } = parseArgs({
    options: {
      dir: { type: "string", default: dist },
      host: { type: "string", default: process.env.HOST || "127.0.0.1" },
      port: { type: "string", default: process.env.PORT || "8060" },
      base: { type: "string", default: "/" },
    },
  });
  const { url } = await serve({ ...values, port: Number(values.port) });
  console.log(`Sixty Ohms is at ${url}`);
}
