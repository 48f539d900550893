// What others wrote that is in the app: every crate of the wasm with its licence and the full texts, as it lies in the
// sources that cargo built from. licences() gives the text of licences.json, which the app reads on its page of licences
// (src/content/licences.rs says its shape).

import { execFileSync } from "node:child_process";
import { readFileSync, readdirSync, statSync } from "node:fs";
import { dirname, join } from "node:path";
import { root, versions } from "./paths.mjs";

const LICENCE = /^(licen[cs]e|copying|notice|unlicense|copyright)/i;

const cargo = (args) => execFileSync("cargo", args, { cwd: root, maxBuffer: 1 << 28, stdio: ["ignore", "pipe", "inherit"] }).toString();

/** "name version" of every crate whose code can be in the wasm: normal dependencies, and no macros of the compiler. */
export function inWasm() {
  const { WASM_TARGET } = versions();
  const edges = ["--edges", "normal,no-proc-macro"];
  const tree = cargo(["tree", "--locked", "--target", WASM_TARGET, ...edges, "--prefix", "none", "--format", "{p}"]);
  return new Set(tree.split("\n").filter(Boolean).map((line) => line.replace(/^(\S+) v(\S+).*$/, "$1 $2")));
}

/** What cargo knows of them. Its own resolving joins the features of tests and build to those of the app, so that the tree chooses. */
function packages() {
  const { WASM_TARGET } = versions();
  const known = JSON.parse(cargo(["metadata", "--locked", "--format-version", "1", "--filter-platform", WASM_TARGET])).packages;
  const wanted = inWasm();
  const found = known.filter(({ name, version }) => wanted.has(`${name} ${version}`));
  if (found.length !== wanted.size) throw new Error(`licences: ${wanted.size} crates in the tree, ${found.length} of them known`);
  return found;
}

/** The licence files of a crate, in folders of licences too. */
function textsIn(folder) {
  return readdirSync(folder)
    .filter((name) => LICENCE.test(name))
    .sort()
    .flatMap((name) => {
      const path = join(folder, name);
      if (statSync(path).isDirectory()) return readdirSync(path).sort().map((inner) => join(path, inner));
      return [path];
    })
    .map((path) => readFileSync(path, "utf8").replaceAll("\r\n", "\n").trim())
    .filter(Boolean);
}

/** The wording of the MIT licence without anybody's name: what is lent to a crate that names it and brings no text. */
function wordingOfMit() {
  const own = readFileSync(join(root, "LICENSE"), "utf8").trim();
  const lines = own.split("\n").filter((line) => !/^copyright/i.test(line));
  return lines.join("\n").replace(/\n{3,}/g, "\n\n");
}

/** The library that Rust itself puts into every program, by the licences that come with the compiler. */
function rustLibrary() {
  const said = execFileSync("rustc", ["-V"], { cwd: root }).toString();
  const folder = join(execFileSync("rustc", ["--print", "sysroot"], { cwd: root }).toString().trim(), "share", "doc", "rust", "licenses");
  const read = (name) => readFileSync(join(folder, name), "utf8").trim();
  return { name: "Rust standard library", version: said.split(" ")[1], licence: "MIT OR Apache-2.0", by: "the Rust project", texts: [read("MIT.txt"), read("Apache-2.0.txt")], lent: false };
}

function entry({ name, version, license, authors, manifest_path: manifest }) {
  const texts = textsIn(dirname(manifest));
  const lent = texts.length === 0;
  if (!license) throw new Error(`licences: ${name} names none`);
  if (lent && !/\bMIT\b/.test(license)) throw new Error(`licences: ${name} brings no text, and ${license} has none to lend`);
  // Addresses of people are theirs, and no part of a licence.
  const by = authors.map((author) => author.replace(/\s*<[^>]*>/, "")).filter(Boolean).join(", ");
  // An older way of writing "or".
  return { name, version, licence: license.replaceAll("/", " OR "), by, texts: lent ? [wordingOfMit()] : texts, lent };
}

/** The text of licences.json: the app's own licence first, then all others by name; each text once. */
export function licences() {
  const crates = packages().map(entry);
  const own = crates.filter(({ name }) => name === "sixty-ohms");
  const others = [...crates.filter(({ name }) => name !== "sixty-ohms"), rustLibrary()];
  others.sort((a, b) => a.name.toLowerCase().localeCompare(b.name.toLowerCase(), "en") || a.version.localeCompare(b.version, "en"));
  const list = [...own, ...others];
  const texts = [...new Set(list.flatMap((one) => one.texts))].sort();
  return JSON.stringify({ packages: list.map((one) => ({ ...one, texts: one.texts.map((text) => texts.indexOf(text)) })), texts });
}
