// Divides the app's wasm into parts that are fetched one after another, so that the first screen need not wait for the
// code of all the others. All parts share one memory and one table of functions; together they are the whole module.
//
//   part 0   what the first screen runs, and a stand-in for every function of a later part that it may call
//   part n   further functions; they take their place in the table when the part is instantiated
//
// Data goes with the first part that has a function which refers to it, itself or through other data (tools/relocs.mjs).
//
// A stand-in asks the page to bring its part ("parts" "bring": nothing to do once it is there) and then calls through
// the table. The page brings every part early, so a stand-in seldom has to wait; public/boot.js has the other half.
//
// Which function goes where is read from tools/parts/*.txt: what the first screens were seen to run. A list that is
// out of date makes the first screen wait for the next part, and nothing else; tools/first-screens.mjs writes them anew.

import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { npmTools, root } from "./paths.mjs";
import { dataOf, references } from "./relocs.mjs";

const require = createRequire(join(npmTools, "..", "package.json"));
const { default: binaryen } = await import(pathToFileURL(require.resolve("binaryen")));

/** The lists, in the order in which parts are brought; functions of no list are the last part. */
export const LISTS = ["first", "jobs", "alarms"];

/** The names under which the modules find each other. */
const PAGE = "parts";
const MAIN = "main";

/**
 * A function's mangled name as the lists hold it: short, and without what another compiler or version of a dependency
 * changes: the crates' own hashes, and the references back to a place behind them. Nor with the number that stands behind
 * the second of two alike: it counts all functions.
 */
export function mark(name) {
  const steady = name.replace(/_\d{3,}$/, "").replace(/Cs[0-9A-Za-z]+_/g, "C").replace(/B[0-9A-Za-z]*_/g, "B");
  return createHash("sha256").update(steady).digest("hex").slice(0, 10);
}

/** What wasm-bindgen adds itself has a number for a name, another one in every build: it runs at the start. */
export const isNamed = (name) => !/^\d+$/.test(name);

export const listFile = (list) => join(root, "tools", "parts", `${list}.txt`);

function listed(list) {
  const lines = readFileSync(listFile(list), "utf8").split("\n");
  return new Set(lines.filter((line) => line && !line.startsWith("#")));
}

const read = (bytes) => binaryen.readBinary(bytes);

function functionsOf(module) {
  return Array.from({ length: module.getNumFunctions() }, (_, index) =>
    binaryen.getFunctionInfo(module.getFunctionByIndex(index)),
  );
}

const own = (functions) => functions.filter((info) => !info.module);

/** The module with a call of page.seen(number) at the head of every function, and the functions' names in that order. */
export function instrumented(bytes) {
  const module = read(bytes);
  module.addFunctionImport("parts seen", PAGE, "seen", binaryen.i32, binaryen.none);
  const names = [];
  for (const info of own(functionsOf(module))) {
    const told = module.call("parts seen", [module.i32.const(names.length)], binaryen.none);
    const body = module.block(null, [told, info.body], info.results);
    binaryen.Function.setBody(module.getFunction(info.name), body);
    names.push(info.name);
  }
  const wasm = module.emitBinary();
  module.dispose();
  return { wasm, names };
}

const prune = (module) => module.runPasses(["remove-unused-module-elements"]);

/** The table that holds functions, and the slot of each that is in it. */
function tableOf(module) {
  const slots = new Map();
  let table;
  for (let index = 0; index < module.getNumElementSegments(); index += 1) {
    const segment = binaryen.getElementSegmentInfo(module.getElementSegmentByIndex(index));
    if (table && table !== segment.table) throw new Error("functions in two tables");
    table = segment.table;
    const from = binaryen.getExpressionInfo(segment.offset).value;
    segment.data.forEach((name, at) => {
      if (name && !slots.has(name)) slots.set(name, []);
      if (name) slots.get(name).push(from + at);
    });
  }
  if (!table) throw new Error("no table of functions");
  return { table, slots };
}

/** A run of slots that follow each other, for each segment to write. */
function runsOf(bySlot) {
  const runs = [];
  for (const [slot, name] of [...bySlot].sort(([a], [b]) => a - b)) {
    const last = runs.at(-1);
    if (last && last.from + last.names.length === slot) last.names.push(name);
    else runs.push({ from: slot, names: [name] });
  }
  return runs;
}

function writeSegments(module, table, bySlot) {
  for (let index = module.getNumElementSegments() - 1; index >= 0; index -= 1) {
    module.removeElementSegment(binaryen.getElementSegmentInfo(module.getElementSegmentByIndex(index)).name);
  }
  runsOf(bySlot).forEach(({ from, names }, index) => {
    module.addActiveElementSegment(table, `run ${index}`, names, module.i32.const(from));
  });
}

function grow(module, name, size) {
  const table = module.getTable(name);
  binaryen.Table.setInitial(table, size);
  if (binaryen.Table.hasMax(table)) binaryen.Table.setMax(table, size);
}

/** Short names for what modules export to each other: none that the page's own glue uses. */
function namer() {
  let next = 0;
  const given = new Map();
  return (name) => {
    if (!given.has(name)) given.set(name, `~${(next++).toString(36)}`);
    return given.get(name);
  };
}

function exportsOf(module) {
  return Array.from({ length: module.getNumExports() }, (_, index) => binaryen.getExportInfo(module.getExportByIndex(index)));
}

/** What of the memory's first bytes belongs to which part, as [{ part, start, end }] in order. */
function dividedData({ data, ofCode, ofData }, functions, partOf, segments) {
  const partOfData = new Map();
  const reach = (symbol, part) => {
    const open = [symbol];
    while (open.length > 0) {
      const next = open.pop();
      if ((partOfData.get(next) ?? Infinity) <= part) continue;
      partOfData.set(next, part);
      open.push(...(ofData.get(next) ?? []));
    }
  };
  for (const { name, body } of functions) {
    for (const symbol of ofCode.get(original(name)) ?? symbolsIn(body, data)) reach(symbol, partOf(name));
  }
  return segments.flatMap(({ address: start, bytes }) => {
    // Nobody's bytes, and those that several symbols share, go with the earliest.
    const owner = new Uint8Array(bytes.length).fill(255);
    for (const [symbol, { address, size }] of data) {
      const part = partOfData.get(symbol) ?? 0;
      for (let at = Math.max(address, start); at < Math.min(address + size, start + bytes.length); at += 1) {
        owner[at - start] = Math.min(owner[at - start], part);
      }
    }
    const ranges = [];
    owner.forEach((part, at) => {
      const last = ranges.at(-1);
      const known = part === 255 ? (bytes[at] === 0 && last ? last.part : 0) : part;
      if (last?.part === known) last.end = start + at + 1;
      else ranges.push({ part: known, start: start + at, end: start + at + 1 });
    });
    return ranges;
  });
}

/** For a function that wasm-bindgen made: the data that its numbers may mean. */
function symbolsIn(body, data) {
  const numbers = [...binaryen.emitText(body).matchAll(/(?:i32\.const |offset=)(\d+)/g)].map(([, digits]) => Number(digits));
  return [...data].filter(([, { address, size }]) => numbers.some((it) => it >= address && it <= address + size)).map(([symbol]) => symbol);
}

/** A function's name before the tools after the linker made it unlike others. */
const original = (name) => name.replace(/\[\d+\]$/, "");

/** Gives a module these bytes of memory and no others. */
function writeData(module, pieces) {
  const { initial, max } = module.getMemoryInfo("0");
  const segments = pieces.map(({ start, bytes }) => ({ offset: module.i32.const(start), data: bytes, passive: false }));
  module.setMemory(initial, max ?? -1, null, segments, false, false, "0");
}

/** A part's pieces of the memory's first bytes, as [{ start, bytes }]. */
function piecesOf(part, ranges, segments) {
  const pieces = [];
  for (const { start, end } of ranges.filter((range) => range.part === part)) {
    const segment = segments.find((it) => start >= it.address && start < it.address + it.bytes.length);
    pieces.push({ start, bytes: segment.bytes.slice(start - segment.address, end - segment.address) });
  }
  return pieces;
}

/** Leaves only the functions of one part, all others being imported; nothing is exported but, if asked, its functions. */
function cut(bytes, part, partOf, sharedName, pieces, keepAlive) {
  const module = read(bytes);
  for (const { name } of exportsOf(module)) module.removeExport(name);
  const { table } = tableOf(module);
  writeSegments(module, table, []);
  writeData(module, pieces);
  for (const info of own(functionsOf(module))) {
    if (partOf(info.name) === part) {
      if (keepAlive) module.addFunctionExport(info.name, info.name);
    } else {
      module.removeFunction(info.name);
      module.addFunctionImport(info.name, MAIN, sharedName(info.name), info.params, info.results);
    }
  }
  for (let index = module.getNumGlobals() - 1; index >= 0; index -= 1) {
    const { name, type, mutable, module: from } = binaryen.getGlobalInfo(module.getGlobalByIndex(index));
    if (from) continue;
    module.removeGlobal(name);
    module.addGlobalImport(name, MAIN, sharedName(`global ${name}`), type, mutable);
  }
  for (let index = 0; index < module.getNumTables(); index += 1) {
    const { name } = binaryen.getTableInfo(module.getTableByIndex(index));
    module.addTableImport(name, MAIN, sharedName(`table ${name}`));
  }
  module.addMemoryImport("0", MAIN, "memory");
  return { module, table };
}

/** The functions of other parts that a part calls. */
function calledBy(bytes, part, partOf) {
  const { module } = cut(bytes, part, partOf, (name) => name, [], true);
  prune(module);
  const found = functionsOf(module).filter((info) => info.module === MAIN).map((info) => info.name);
  module.dispose();
  return found;
}

/** Puts a stand-in in the place of a function: bring its part, then call through the table. */
function standIn(module, info, part, table, slot) {
  const kinds = binaryen.expandType(info.params);
  const given = kinds.map((kind, index) => module.local.get(index, kind));
  const call = module.call_indirect(table, module.i32.const(slot), given, info.params, info.results);
  const bring = module.call("parts bring", [module.i32.const(part)], binaryen.none);
  module.removeFunction(info.name);
  module.addFunction(info.name, info.params, info.results, [], module.block(null, [bring, call], info.results));
}

/**
 * Divides a module, names and all, into parts (untouched otherwise: the caller shrinks them).
 * linked: the module as the linker wrote it, with its relocations; bytes: what wasm-bindgen made of it.
 * lists: for each part but the last, the marks of its functions.
 */
export function divided(linked, bytes, lists = LISTS.map(listed)) {
  const whole = read(bytes);
  const functions = own(functionsOf(whole));
  const infoOf = new Map(functions.map((info) => [info.name, info]));
  const home = new Map(functions.map(({ name }) => [name, isNamed(name) ? lists.findIndex((marks) => marks.has(mark(name))) : 0]));
  const partOf = (name) => (home.get(name) === -1 ? lists.length : home.get(name));
  const { table, slots } = tableOf(whole);
  const { initial: tableSize } = binaryen.getTableInfo(whole.getTable(table));

  // Which functions of later parts need a stand-in: those in the table, those that the page is handed, and those that
  // another part calls.
  const calls = [0, ...lists.keys()].map((_, part) => calledBy(bytes, part, partOf));
  const wanted = new Set(calls.flat());
  for (const name of slots.keys()) wanted.add(name);
  for (const { value } of exportsOf(whole)) if (infoOf.has(value)) wanted.add(value);
  const standing = [...wanted].filter((name) => infoOf.has(name) && partOf(name) > 0).sort();
  let size = tableSize;
  for (const name of standing) if (!slots.has(name)) slots.set(name, [size++]);

  const shared = namer();
  const segments = dataOf(bytes);
  const ranges = dividedData(references(linked), functions, partOf, segments);
  const parts = [];
  for (let part = 1; part <= lists.length; part += 1) {
    const { module } = cut(bytes, part, partOf, shared, piecesOf(part, ranges, segments), false);
    const bySlot = standing
      .filter((name) => partOf(name) === part)
      .flatMap((name) => slots.get(name).map((slot) => [slot, name]));
    writeSegments(module, table, bySlot);
    grow(module, table, size);
    prune(module);
    parts.push(module);
  }

  // Part 0: the module itself with stand-ins, and with all that the others ask for.
  whole.addFunctionImport("parts bring", PAGE, "bring", binaryen.i32, binaryen.none);
  for (const name of standing) standIn(whole, infoOf.get(name), partOf(name), table, slots.get(name)[0]);
  const kept = new Set(standing);
  const bySlot = [...slots].flatMap(([name, places]) => places.map((slot) => [slot, name]));
  const asked = new Map();
  for (const module of parts) {
    for (const info of functionsOf(module)) if (info.module === MAIN) asked.set(info.name, "function");
    for (let index = 0; index < module.getNumGlobals(); index += 1) {
      const info = binaryen.getGlobalInfo(module.getGlobalByIndex(index));
      if (info.module === MAIN) asked.set(info.name, "global");
    }
  }
  for (const info of functions) {
    if (partOf(info.name) > 0 && !kept.has(info.name)) whole.removeFunction(info.name);
  }
  writeSegments(whole, table, bySlot);
  for (const [name, kind] of asked) {
    if (kind === "function") whole.addFunctionExport(name, shared(name));
    else whole.addGlobalExport(name, shared(`global ${name}`));
  }
  for (let index = 0; index < whole.getNumTables(); index += 1) {
    const { name } = binaryen.getTableInfo(whole.getTableByIndex(index));
    whole.addTableExport(name, shared(`table ${name}`));
  }
  grow(whole, table, size);
  writeData(whole, piecesOf(0, ranges, segments));
  parts.unshift(whole);
  const written = parts.map((module) => {
    if (!module.validate()) throw new Error("a part is not valid");
    const out = module.emitBinary();
    module.dispose();
    return out;
  });
  return written;
}
