// Where things are: the clone, the built app, and the tools kept outside the clone so that a second
// clone finds them.

import { execFileSync } from "node:child_process";
import { createHash } from "node:crypto";
import { existsSync, readFileSync } from "node:fs";
import { homedir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";

export const root = fileURLToPath(new URL("..", import.meta.url));
export const dist = join(root, "dist");
export const npmTools = join(root, "tools", "node_modules");
export const wasmOpt = join(npmTools, ".bin", "wasm-opt");

/** The KEY=VALUE lines of tools/versions. */
export function versions() {
  const text = readFileSync(join(root, "tools", "versions"), "utf8");
  return Object.fromEntries([...text.matchAll(/^([A-Z_]+)=(.+)$/gm)].map(([, key, value]) => [key, value]));
}

/** The version of a crate as Cargo.lock has it. */
export function locked(crate) {
  const lock = readFileSync(join(root, "Cargo.lock"), "utf8");
  const found = [...lock.matchAll(/^name = "(.+)"\nversion = "(.+)"$/gm)].filter(([, name]) => name === crate);
  if (found.length !== 1) throw new Error(`Cargo.lock names ${crate} ${found.length} times, expected once`);
  return found[0][2];
}

/** The folder for one version of one tool. */
export function toolDir(tool, version) {
  const cache = process.env.XDG_CACHE_HOME || join(homedir(), ".cache");
  return join(cache, "sixty-ohms", `${tool}-${version}`);
}

/** The Python that the cross-check runs in: one environment for each list of its libraries. */
export function crosscheckPython() {
  const requirements = join(root, "tests", "crosscheck", "requirements.txt");
  const hash = createHash("sha256").update(readFileSync(requirements)).digest("hex").slice(0, 12);
  const folder = toolDir("python", hash);
  return { folder, requirements, python: join(folder, "bin", "python"), mark: join(folder, "whole") };
}

/** The version that a command says it has, or null where there is no such command. */
export function versionOf(command) {
  try {
    return execFileSync(command, ["--version"], { encoding: "utf8", stdio: ["ignore", "pipe", "ignore"] }).trim();
  } catch {
    return null;
  }
}

/** The wasm-bindgen command of exactly the locked version, or null: the one on PATH, else the one set-up made. */
export function wasmBindgen() {
  const version = locked("wasm-bindgen");
  if (versionOf("wasm-bindgen") === `wasm-bindgen ${version}`) return "wasm-bindgen";
  const kept = join(toolDir("wasm-bindgen", version), "bin", "wasm-bindgen");
  return existsSync(kept) ? kept : null;
}
