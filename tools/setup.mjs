// Installs what is missing, and nothing else.
//
//   node tools/setup.mjs          what building needs
//   node tools/setup.mjs test     and what testing needs
//
// Each step looks for its result first, so a second run does nothing and takes no time.

import { execFileSync } from "node:child_process";
import { existsSync, mkdirSync, mkdtempSync, readFileSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { crosscheckPython, locked, npmTools, root, toolDir, versionOf, versions, wasmBindgen } from "./paths.mjs";

const { NODE_MIN, WASM_TARGET } = versions();

function step(what, command, args, options = {}) {
  console.log(`set-up: ${what}`);
  const started = Date.now();
  execFileSync(command, args, { stdio: "inherit", ...options });
  console.log(`set-up: ${what}: done in ${((Date.now() - started) / 1000).toFixed(1)} s`);
}

function wasmTarget() {
  const sysroot = execFileSync("rustc", ["--print", "sysroot"], { encoding: "utf8" }).trim();
  if (existsSync(join(sysroot, "lib", "rustlib", WASM_TARGET, "lib"))) return;
  step(`Rust's ${WASM_TARGET}`, "rustup", ["target", "add", WASM_TARGET]);
}

// A debug build of the command: it compiles in two thirds of the time of the lightest release build, and on
// this app's wasm it then runs some tenths of a second longer. It is built in a folder of its own and moved
// into place when whole, so that a broken-off set-up leaves nothing that looks finished.
function bindgen() {
  if (wasmBindgen()) return;
  const version = locked("wasm-bindgen");
  const place = toolDir("wasm-bindgen", version);
  mkdirSync(dirname(place), { recursive: true });
  const staging = mkdtempSync(`${place}.`);
  const env = {
    ...process.env,
    CARGO_PROFILE_DEV_DEBUG: "0",
    CARGO_PROFILE_DEV_DEBUG_ASSERTIONS: "false",
    CARGO_PROFILE_DEV_OVERFLOW_CHECKS: "false",
    CARGO_PROFILE_DEV_STRIP: "symbols",
  };
  // The project's own settings must not leak into the tool's build.
  for (const name of ["CARGO_TARGET_DIR", "CARGO_BUILD_TARGET", "RUSTFLAGS"]) delete env[name];
  try {
    // Not --locked: the tool's own lock may name a crate version that is no longer served.
    step(
      `wasm-bindgen ${version} (once, a minute or two)`,
      "cargo",
      ["install", "--quiet", "--debug", `wasm-bindgen-cli@${version}`, "--no-default-features", "--bin", "wasm-bindgen", "--root", staging],
      { env, cwd: dirname(place) },
    );
    rmSync(place, { recursive: true, force: true });
    renameSync(staging, place);
  } finally {
    rmSync(staging, { recursive: true, force: true });
  }
}

function npm(withTests) {
  const wanted = JSON.parse(readFileSync(join(root, "tools", "package.json"), "utf8"));
  const needed = { ...wanted.dependencies, ...(withTests ? wanted.devDependencies : {}) };
  const missing = Object.entries(needed).filter(([name, version]) => {
    const installed = join(npmTools, name, "package.json");
    return !existsSync(installed) || JSON.parse(readFileSync(installed, "utf8")).version !== version;
  });
  if (missing.length === 0) return;
  const names = missing.map(([name, version]) => `${name} ${version}`).join(", ");
  step(names, "npm", ["ci", "--loglevel=error", ...(withTests ? [] : ["--omit=dev"])], { cwd: join(root, "tools") });
}

/** Debian's packages for commands that are not there. */
function debian() {
  const there = (command, ...args) => {
    try {
      execFileSync(command, args, { stdio: "ignore" });
      return true;
    } catch {
      return false;
    }
  };
  const missing = [
    ["chromium", () => versionOf(process.env.CHROMIUM || "/usr/bin/chromium")],
    ["firefox-esr", () => versionOf(process.env.FIREFOX || "/usr/bin/firefox-esr")],
    ["webkit2gtk-driver", () => there(process.env.WEBKIT_DRIVER || "/usr/bin/WebKitWebDriver", "--help")],
    ["xvfb", () => there("Xvfb", "-help")],
    ["python3-gi", () => there("/usr/bin/python3", "-c", "import gi")],
    ["gir1.2-webkit2-4.1", () => there("/usr/bin/python3", "-c", "import gi; gi.require_version('WebKit2', '4.1')")],
    ["poppler-utils", () => there("pdfinfo", "-v")],
    ["ngspice", () => there("ngspice", "--version")],
    ["zbar-tools", () => there("zbarimg", "--version")],
    ["python3-venv", () => there("python3", "-c", "import venv, ensurepip")],
  ].filter(([, isThere]) => !isThere());
  if (missing.length === 0) return;
  const asRoot = process.getuid() === 0 ? [] : ["sudo"];
  const apt = (...args) => {
    const [command, ...rest] = [...asRoot, "apt-get", "-qq", ...args];
    step(`apt-get ${args.join(" ")}`, command, rest, { env: { ...process.env, DEBIAN_FRONTEND: "noninteractive" } });
  };
  apt("update");
  apt("install", "-y", "--no-install-recommends", ...missing.map(([name]) => name));
}

// The libraries of the cross-check, in a folder of their own for each list of versions. The mark is made last, so
// that a broken-off set-up is done again.
function pythonLibraries() {
  const { folder, python, mark, requirements } = crosscheckPython();
  if (existsSync(mark)) return;
  rmSync(folder, { recursive: true, force: true });
  step("a Python environment", "python3", ["-m", "venv", folder]);
  step("the cross-check's libraries", python, ["-m", "pip", "install", "--quiet", "--disable-pip-version-check", "-r", requirements]);
  writeFileSync(mark, "");
}

const withTests = process.argv[2] === "test";
if (Number(process.versions.node.split(".")[0]) < Number(NODE_MIN)) {
  throw new Error(`Node ${NODE_MIN} or later is needed; this is ${process.version}`);
}
for (const [command, hint] of [
  ["cargo", "install Rust with rustup"],
  ["npm", "it comes with Node"],
]) {
  if (!versionOf(command)) throw new Error(`The command ${command} is missing: ${hint}`);
}
wasmTarget();
npm(withTests);
bindgen();
if (withTests) {
  debian();
  pythonLibraries();
}
