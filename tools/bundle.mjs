// Builds the release app into dist/: compile, bind, shrink, name by content, and write down every file's hash for
// the worker. Whole or not at all: everything is put together in dist.staging, which then takes dist's place.
//
//   node tools/bundle.mjs
//
// seal(folder) alone writes the worker's version and list again after a file was changed; the journeys make their
// "next version" with it.

import { execFileSync } from "node:child_process";
import { createHash } from "node:crypto";
import { cpSync, existsSync, mkdirSync, readFileSync, readdirSync, renameSync, rmSync, statSync, writeFileSync } from "node:fs";
import { join, relative, sep } from "node:path";
import { fileURLToPath } from "node:url";
import { brotliCompressSync, constants, gzipSync } from "node:zlib";
import { licences } from "./licences.mjs";
import { LISTS, divided } from "./parts.mjs";
import { withoutLinking } from "./relocs.mjs";
import { dist, root, versions, wasmBindgen, wasmOpt } from "./paths.mjs";

const BIN = "sixty-ohms";

// Everything that public/ holds. A file that is not named here, or is named and not there, stops the build: what
// the worker stores on a phone is decided here and nowhere else.
const HASHED = ["boot.js"];
// One style sheet, in this order.
const STYLES = ["css/1-frame.css", "css/2-parts.css", "css/3-pages.css", "css/4-situations.css"];
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

/** Compiles, and returns the module as it was bound, with the functions' names, and its glue. */
export function bound() {
  const { WASM_TARGET } = versions();
  const bindgen = wasmBindgen();
  if (!bindgen || !existsSync(wasmOpt)) throw new Error("a build tool is missing: run make setup");
  const content = contentOf(["build", "--release", "--target", WASM_TARGET, "--bin", BIN]);
  const target = process.env.CARGO_TARGET_DIR || join(root, "target");
  const built = join(target, WASM_TARGET, "release");
  const out = join(built, "bound");
  rmSync(out, { recursive: true, force: true });
  run(bindgen, ["--target", "web", "--no-typescript", "--no-demangle", "--out-dir", out, join(built, `${BIN}.wasm`)]);
  sameNames("wasm-bindgen's output", filesIn(out), [`${BIN}.js`, `${BIN}_bg.wasm`]);
  return {
    glue: joined(readFileSync(join(out, `${BIN}.js`), "utf8")),
    linked: readFileSync(join(built, `${BIN}.wasm`)),
    wasm: withoutLinking(readFileSync(join(out, `${BIN}_bg.wasm`))),
    content,
    out,
  };
}

/** The glue with the two places where the app's parts meet (public/boot.js has the other side). */
function joined(glue) {
  const once = (text, from, to) => {
    if (text.split(from).length !== 2) throw new Error(`wasm-bindgen's glue has not once ${JSON.stringify(from)}`);
    return text.replace(from, () => to);
  };
  const imports = /return (\{\s*__proto__: null,\s*"\.\/[^"]*": import0,\s*\});/.exec(glue);
  if (!imports) throw new Error("wasm-bindgen's glue hands over its imports otherwise");
  const open = once(glue, imports[0], `return window.ohmsParts.imports(${imports[1]});`);
  return once(open, "wasm = instance.exports;", "wasm = window.ohmsParts.exports(instance.exports);");
}

/** Compiles, divides, and shrinks: the parts in the order in which a page brings them. */
function compile() {
  const { glue, linked, wasm, content, out } = bound();
  const parts = divided(linked, wasm).map((part, index) => {
    const [from, to] = ["whole", "shrunk"].map((state) => join(out, `${index}-${state}.wasm`));
    writeFileSync(from, part);
    run(wasmOpt, [...WASM_OPT_FLAGS, from, "-o", to]);
    return readFileSync(to);
  });
  return { glue, parts, content };
}

/** Builds, and returns the content that the build packed: { "language-part": bytes }. */
function contentOf(args) {
  const said = execFileSync("cargo", [...args, "--message-format=json-render-diagnostics"], {
    cwd: root,
    stdio: ["inherit", "pipe", "inherit"],
    maxBuffer: 1 << 28,
  });
  const messages = said.toString().split("\n").filter(Boolean).map((line) => JSON.parse(line));
  const script = messages.findLast((message) => message.reason === "build-script-executed" && message.package_id.includes(BIN));
  if (!script) throw new Error("the build says nothing of its content");
  const packed = /^content-(\w+-\w+)\.json$/;
  const names = readdirSync(script.out_dir).filter((name) => packed.test(name));
  if (names.length === 0) throw new Error("the build packed no content");
  return Object.fromEntries(names.map((name) => [name.match(packed)[1], readFileSync(join(script.out_dir, name))]));
}

/** Puts the app together in a folder. */
export function assemble(folder, { glue, parts, content }) {
  const source = join(root, "public");
  sameNames("public/", filesIn(source), [...HASHED, ...STYLES, ...COPIED, ...NOT_SHIPPED, WORKER]);
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(folder);

  const named = (name, bytes) => {
    const dot = name.lastIndexOf(".");
    const full = `${name.slice(0, dot)}-${sha256(bytes).slice(0, 16)}${name.slice(dot)}`;
    writeFileSync(join(folder, full), bytes);
    return `./${full}`;
  };
  const urls = {
    "{{glue}}": named("ohms.js", glue),
    "{{css}}": named("app.css", STYLES.map((name) => readFileSync(join(source, name), "utf8")).join("\n")),
  };
  for (const [name, bytes] of Object.entries(content)) {
    urls[`{{content_${name.replace("-", "_")}}}`] = named(`content-${name}.json`, bytes);
  }
  const [first, ...later] = parts.map((bytes, index) => named(`ohms-${[...LISTS, "rest"][index]}.wasm`, bytes));
  urls["{{first}}"] = first;
  const { "{{css}}": _, ...code } = { ...urls, '"{{later}}"': JSON.stringify(later) };
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

/** What a phone is sent, by what it is needed for, in the order in which it is fetched. */
const STAGES = {
  "until the first screen can be used": /^(index\.html|(app|boot|ohms|ohms-first|content-en-first)-[0-9a-f]{16}\.(css|js|json|wasm))$/,
  "and the jobs": /^(ohms-jobs|content-en-rest)-[0-9a-f]{16}\.(json|wasm)$/,
  "and the alarms": /^ohms-alarms-[0-9a-f]{16}\.wasm$/,
  "and every other screen": /^ohms-rest-[0-9a-f]{16}\.wasm$/,
  "until all is stored": /./,
};

/** The sizes of what a folder holds: each file's, and the sum after each stage. */
export function sizes(folder) {
  const rows = filesIn(folder)
    .filter((name) => !SIBLING.test(name))
    .map((name) => {
      const raw = statSync(join(folder, name)).size;
      return { name, raw, sent: COMPRESSIBLE.test(name) ? statSync(join(folder, `${name}.br`)).size : raw };
    });
  let left = rows;
  let [raw, sent] = [0, 0];
  const stages = Object.entries(STAGES).map(([name, holds]) => {
    const now = left.filter((row) => holds.test(row.name));
    left = left.filter((row) => !holds.test(row.name));
    raw += now.reduce((total, row) => total + row.raw, 0);
    sent += now.reduce((total, row) => total + row.sent, 0);
    return { name, raw, sent };
  });
  return { rows, stages };
}

function printSizes({ rows, stages }) {
  const line = (name, raw, sent) => console.log(`${name.padEnd(40)}${String(raw).padStart(10)}${String(sent).padStart(12)}`);
  line("", "raw", "brotli 11");
  for (const { name, raw, sent } of rows) line(name, raw, sent);
  for (const { name, raw, sent } of stages) line(name, raw, sent);
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
  printSizes(sizes(dist));
  console.log(`dist/ holds version ${version}`);
}

if (process.argv[1] === fileURLToPath(import.meta.url)) build();
