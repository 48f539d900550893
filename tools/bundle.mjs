// Builds the release app into dist/: compile, bind, shrink, name by content, and write down every file's hash for
// the worker. Whole or not at all: everything is put together in dist.staging, which then takes dist's place.
//
//   node tools/bundle.mjs
//
// seal(folder) alone writes the worker's version and list again after a file was changed; the journeys make their
// "next version" with it.

import { execFileSync } from "node:child_process";
import { createHash } from "node:crypto";
import { cpSync, existsSync, mkdirSync, readFileSync, readdirSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { join, relative, sep } from "node:path";
import { fileURLToPath } from "node:url";
import { brotliCompressSync, constants, gzipSync } from "node:zlib";
import { licences } from "./licences.mjs";
import { dist, root, versions, wasmBindgen, wasmOpt } from "./paths.mjs";

const BIN = "sixty-ohms";

// Everything that public/ holds. A file that is not named here, or is named and not there, stops the build: what
// the worker stores on a phone is decided here and nowhere else.
const HASHED = ["app.css", "boot.js"];
const COPIED = [
  "icons/apple-touch-icon.png",
  "icons/icon-192.png",
  "icons/icon-512.png",
  "icons/icon.svg",
  "icons/maskable-512.png",
  "manifest.webmanifest",
  "schema/backup.schema.json",
  "schema/pack.schema.json",
];
const NOT_SHIPPED = ["icons/maskable.svg", "sw-off.js"];
const WORKER = "sw.js";

const COMPRESSIBLE = /\.(css|html|js|json|svg|wasm|webmanifest)$/;
const SIBLING = /\.(br|gz)$/;

// Only what every current browser reads. --all-features would let wasm-opt write what they refuse to load.
const WASM_OPT_FLAGS = [
  "-Oz",
  "--enable-bulk-memory",
  "--enable-bulk-memory-opt",
  "--enable-nontrapping-float-to-int",
  "--enable-sign-ext",
  "--enable-mutable-globals",
  "--enable-reference-types",
  "--enable-multivalue",
  "--enable-call-indirect-overlong",
];

const sha256 = (bytes) => createHash("sha256").update(bytes).digest("hex");

/** All files under a folder, as sorted paths with "/". */
export function filesIn(folder) {
  return readdirSync(folder, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .map((entry) => relative(folder, join(entry.parentPath ?? entry.path, entry.name)).split(sep).join("/"))
    .sort();
}

/** Puts values in place of their {{names}}; each name must be there, and none may be left over. */
function fillIn(what, text, values) {
  let filled = text;
  for (const [name, value] of Object.entries(values)) {
    if (!filled.includes(name)) throw new Error(`${what} has no ${name}`);
    filled = filled.replaceAll(name, () => value);
  }
  const left = filled.match(/\{\{\w+\}\}/);
  if (left) throw new Error(`${what}: nothing to put in place of ${left[0]}`);
  return filled;
}

function sameNames(what, found, expected) {
  const extra = found.filter((name) => !expected.includes(name));
  const lost = expected.filter((name) => !found.includes(name));
  if (extra.length > 0) throw new Error(`${what}: unexpected ${extra.join(", ")} (list it in tools/bundle.mjs)`);
  if (lost.length > 0) throw new Error(`${what}: missing ${lost.join(", ")}`);
}

/**
 * Writes sw.js for the files in a folder, and the compressed siblings. Returns the version.
 * The start page is listed as "./": hosts that redirect index.html would break it under its own name.
 */
export function seal(folder) {
  const all = filesIn(folder);
  for (const name of all.filter((name) => SIBLING.test(name))) rmSync(join(folder, name));
  const shipped = all.filter((name) => !SIBLING.test(name) && name !== WORKER);
  const listed = Object.fromEntries(
    shipped.map((name) => [name === "index.html" ? "./" : `./${name}`, sha256(readFileSync(join(folder, name)))]),
  );
  const template = readFileSync(join(root, "public", WORKER), "utf8");
  const version = sha256(template + JSON.stringify(listed)).slice(0, 16);
  const worker = fillIn(WORKER, template, { "{{version}}": version, '"{{files}}"': JSON.stringify(listed, null, 2) });
  writeFileSync(join(folder, WORKER), worker);

  for (const name of [...shipped, WORKER].filter((name) => COMPRESSIBLE.test(name))) {
    const bytes = readFileSync(join(folder, name));
    writeFileSync(join(folder, `${name}.br`), brotli(bytes));
    writeFileSync(join(folder, `${name}.gz`), gzipSync(bytes, { level: 9 }));
  }
  return version;
}

function brotli(bytes) {
  return brotliCompressSync(bytes, {
    params: { [constants.BROTLI_PARAM_QUALITY]: 11, [constants.BROTLI_PARAM_SIZE_HINT]: bytes.length },
  });
}

function run(command, args) {
  execFileSync(command, args, { cwd: root, stdio: "inherit" });
}

/** Compiles, and returns the folder that holds the shrunk wasm and its glue. */
function compile() {
  const { WASM_TARGET } = versions();
  const bindgen = wasmBindgen();
  if (!bindgen || !existsSync(wasmOpt)) throw new Error("a build tool is missing: run make setup");
  const content = contentOf(["build", "--release", "--target", WASM_TARGET, "--bin", BIN]);
  const target = process.env.CARGO_TARGET_DIR || join(root, "target");
  const built = join(target, WASM_TARGET, "release");
  const bound = join(built, "bound");
  rmSync(bound, { recursive: true, force: true });
  run(bindgen, ["--target", "web", "--no-typescript", "--out-dir", bound, join(built, `${BIN}.wasm`)]);
  sameNames("wasm-bindgen's output", filesIn(bound), [`${BIN}.js`, `${BIN}_bg.wasm`]);
  const shrunk = join(bound, "shrunk.wasm");
  run(wasmOpt, [...WASM_OPT_FLAGS, join(bound, `${BIN}_bg.wasm`), "-o", shrunk]);
  return { glue: readFileSync(join(bound, `${BIN}.js`)), wasm: readFileSync(shrunk), content };
}

/** Builds, and returns the content that the build packed: { language: bytes }. */
function contentOf(args) {
  const said = execFileSync("cargo", [...args, "--message-format=json-render-diagnostics"], {
    cwd: root,
    stdio: ["inherit", "pipe", "inherit"],
    maxBuffer: 1 << 28,
  });
  const messages = said.toString().split("\n").filter(Boolean).map((line) => JSON.parse(line));
  const script = messages.findLast((message) => message.reason === "build-script-executed" && message.package_id.includes(BIN));
  if (!script) throw new Error("the build says nothing of its content");
  const packed = /^content-(\w+)\.json$/;
  const names = readdirSync(script.out_dir).filter((name) => packed.test(name));
  if (names.length === 0) throw new Error("the build packed no content");
  return Object.fromEntries(names.map((name) => [name.match(packed)[1], readFileSync(join(script.out_dir, name))]));
}

/** Puts the app together in a folder. */
function assemble(folder, { glue, wasm, content }) {
  const source = join(root, "public");
  sameNames("public/", filesIn(source), [...HASHED, ...COPIED, ...NOT_SHIPPED, WORKER]);
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(folder);

  const named = (name, bytes) => {
    const dot = name.lastIndexOf(".");
    const full = `${name.slice(0, dot)}-${sha256(bytes).slice(0, 16)}${name.slice(dot)}`;
    writeFileSync(join(folder, full), bytes);
    return `./${full}`;
  };
  const urls = {
    "{{wasm}}": named("ohms.wasm", wasm),
    "{{glue}}": named("ohms.js", glue),
    "{{css}}": named("app.css", readFileSync(join(source, "app.css"))),
  };
  for (const [tongue, bytes] of Object.entries(content)) {
    urls[`{{content_${tongue}}}`] = named(`content-${tongue}.json`, bytes);
  }
  const { "{{css}}": _, ...code } = urls;
  urls["{{boot}}"] = named("boot.js", fillIn("boot.js", readFileSync(join(source, "boot.js"), "utf8"), code));

  writeFileSync(join(folder, "licences.json"), licences());
  for (const name of COPIED) cpSync(join(source, name), join(folder, name));
  const inPage = Object.fromEntries(Object.entries(urls).filter(([name]) => !name.startsWith("{{content_")));
  const page = fillIn("index.html", readFileSync(join(root, "index.html"), "utf8"), inPage);
  writeFileSync(join(folder, "index.html"), page);
  checkReferences(folder, page);
}

/** Every file that the page or the manifest names must be there. */
function checkReferences(folder, page) {
  const inPage = [...page.matchAll(/(?:href|src)="([^"]+)"/g)].map(([, url]) => url);
  const manifest = JSON.parse(readFileSync(join(folder, "manifest.webmanifest"), "utf8"));
  for (const url of [...inPage, ...manifest.icons.map((icon) => icon.src)]) {
    if (!url.startsWith("./")) throw new Error(`${url} is not relative: the app could not live under a path`);
    if (!existsSync(join(folder, url))) throw new Error(`${url} is named but not there`);
  }
}

/** What a phone is sent: to show the app, and in all until the app is stored. */
function sizes(folder) {
  const names = filesIn(folder).filter((name) => !SIBLING.test(name));
  const rows = names.map((name) => {
    const bytes = readFileSync(join(folder, name));
    return { name, raw: bytes.length, sent: COMPRESSIBLE.test(name) ? readFileSync(join(folder, `${name}.br`)).length : bytes.length };
  });
  // One language is fetched at the start; the other is stored after.
  const shows = /^(index\.html|.*-[0-9a-f]{16}\.(css|js|wasm)|content-en-[0-9a-f]{16}\.json)$/;
  const sum = (list, key) => list.reduce((total, row) => total + row[key], 0);
  const toShow = rows.filter((row) => shows.test(row.name));
  const line = (name, raw, sent) => `${name.padEnd(36)}${String(raw).padStart(10)}${String(sent).padStart(12)}`;
  console.log(line("", "raw", "brotli 11"));
  for (const { name, raw, sent } of rows) console.log(line(name, raw, sent));
  console.log(line("first visit, until the app shows", sum(toShow, "raw"), sum(toShow, "sent")));
  console.log(line("first visit, until all is stored", sum(rows, "raw"), sum(rows, "sent")));
}

function build() {
  const staging = `${dist}.staging`;
  const old = `${dist}.old`;
  assemble(staging, compile());
  const version = seal(staging);
  rmSync(old, { recursive: true, force: true });
  if (existsSync(dist)) renameSync(dist, old);
  renameSync(staging, dist);
  rmSync(old, { recursive: true, force: true });
  sizes(dist);
  console.log(`dist/ holds version ${version}`);
}

if (process.argv[1] === fileURLToPath(import.meta.url)) build();
