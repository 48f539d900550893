// Which data the functions of a wasm module refer to, as its linker wrote it down (--emit-relocs).
//
// Formats: WebAssembly core specification 2.0, section 5.5 (binary format of modules); the tool conventions' "Linking"
// document, sections "Relocation Sections" and "Linking Metadata Section".

const SECTION = { custom: 0, import: 2, code: 10, data: 11 };

// Relocation types that name a place in memory: LEB, SLEB, I32; the same relative to __memory_base; LEB, SLEB, I32 of
// 64 bits; relative to __tls_base.
const MEMORY = new Set([3, 4, 5, 11, 14, 15, 16, 17, 21, 23, 25]);
// Those with an addend: MEMORY, and offsets into functions and sections.
const WITH_ADDEND = new Set([...MEMORY, 8, 9, 22]);

const SYMBOL = { function: 0, data: 1, global: 2, section: 3, event: 4, table: 5 };
const UNDEFINED = 0x10;
const EXPLICIT_NAME = 0x40;
const SYMBOL_TABLE = 8;

/** A reader of a part of a module's bytes. */
function reader(bytes, at = 0) {
  const text = new TextDecoder();
  const self = {
    at,
    u8: () => bytes[self.at++],
    leb() {
      let value = 0;
      for (let shift = 1; ; shift *= 128) {
        const byte = self.u8();
        value += (byte & 127) * shift;
        if (byte < 128) return value;
      }
    },
    name() {
      const length = self.leb();
      self.at += length;
      return text.decode(bytes.subarray(self.at - length, self.at));
    },
    times(read) {
      return Array.from({ length: self.leb() }, read);
    },
  };
  return self;
}

function sectionsOf(bytes) {
  const input = reader(bytes, 8);
  const sections = [];
  while (input.at < bytes.length) {
    const id = input.u8();
    const length = input.leb();
    const start = input.at;
    const name = id === SECTION.custom ? input.name() : "";
    sections.push({ id, name, start, body: input.at, end: start + length });
    input.at = start + length;
  }
  return sections;
}

/** The module without what the linker wrote for other tools. */
export function withoutLinking(bytes) {
  const sections = sectionsOf(bytes);
  const starts = sections.map((_, index) => (index === 0 ? 8 : sections[index - 1].end));
  const kept = sections.flatMap(({ name, end }, index) =>
    name === "linking" || name.startsWith("reloc.") ? [] : [bytes.subarray(starts[index], end)],
  );
  return Buffer.concat([bytes.subarray(0, 8), ...kept]);
}

/** How many functions a module imports: the numbers of its own come after them. */
function importedFunctions(bytes, section) {
  if (!section) return 0;
  const input = reader(bytes, section.body);
  const limits = () => {
    const flags = input.u8();
    input.leb();
    if (flags & 1) input.leb();
  };
  const kinds = [() => input.leb(), () => (input.u8(), limits()), limits, () => (input.u8(), input.u8()), () => (input.u8(), input.leb())];
  let count = 0;
  input.times(() => {
    input.name();
    input.name();
    const kind = input.u8();
    kinds[kind]();
    count += kind === 0 ? 1 : 0;
  });
  return count;
}

/** Where each of the module's own functions lies in the code section. */
function bodiesOf(bytes, section) {
  const input = reader(bytes, section.body);
  return input.times(() => {
    const length = input.leb();
    const start = input.at - section.body;
    input.at += length;
    return { start, end: start + length };
  });
}

/** The data segments: their addresses, and where their bytes lie in the data section. */
function segmentsOf(bytes, section) {
  const input = reader(bytes, section.body);
  return input.times(() => {
    const flags = input.leb();
    if (flags !== 0) throw new Error("a data segment that is not simply placed");
    if (input.u8() !== 0x41) throw new Error("a data segment without a fixed address");
    const address = input.leb();
    if (input.u8() !== 0x0b) throw new Error("a data segment without a fixed address");
    const length = input.leb();
    const start = input.at - section.body;
    input.at += length;
    return { address, start, length };
  });
}

/** The bytes that a module writes into its memory when it starts, as [{ address, bytes }]. */
export function dataOf(bytes) {
  const section = sectionsOf(bytes).find(({ id }) => id === SECTION.data);
  return segmentsOf(bytes, section).map(({ address, start, length }) => {
    const from = section.body + start;
    return { address, bytes: bytes.slice(from, from + length) };
  });
}

function symbolsOf(bytes, section) {
  const input = reader(bytes, section.body);
  input.leb(); // version
  while (input.at < section.end) {
    const kind = input.u8();
    const end = input.leb() + input.at;
    if (kind === SYMBOL_TABLE) {
      return input.times(() => {
        const [type, flags] = [input.u8(), input.leb()];
        if (type === SYMBOL.data) {
          const name = input.name();
          if (flags & UNDEFINED) return { type, name };
          return { type, name, segment: input.leb(), offset: input.leb(), size: input.leb() };
        }
        if (type === SYMBOL.section) return { type, section: input.leb() };
        const index = input.leb();
        const named = !(flags & UNDEFINED) || (flags & EXPLICIT_NAME);
        return { type, index, name: named ? input.name() : "" };
      });
    }
    input.at = end;
  }
  throw new Error("no table of symbols: was the module linked with --emit-relocs?");
}

function relocationsOf(bytes, section) {
  const input = reader(bytes, section.body);
  input.leb(); // of which section
  return input.times(() => {
    const [type, offset, symbol] = [input.u8(), input.leb(), input.leb()];
    if (WITH_ADDEND.has(type)) input.leb();
    return { type, offset, symbol };
  });
}

/** The one of sorted ranges { start, end } that holds a place. */
function holder(ranges, place) {
  let [low, high] = [0, ranges.length - 1];
  while (low <= high) {
    const middle = (low + high) >> 1;
    if (place < ranges[middle].start) high = middle - 1;
    else if (place >= ranges[middle].end) low = middle + 1;
    else return middle;
  }
  return -1;
}

/**
 * Reads a linked module. Returns
 *   data     Map: symbol → { address, size }
 *   ofCode   Map: function's name → Set of data symbols that its body refers to
 *   ofData   Map: data symbol → Set of data symbols that it refers to
 */
export function references(bytes) {
  const sections = sectionsOf(bytes);
  const one = (id) => sections.find((section) => section.id === id);
  const custom = (name) => sections.find((section) => section.id === SECTION.custom && section.name === name);
  const [code, dataSection, linking] = [one(SECTION.code), one(SECTION.data), custom("linking")];
  if (!linking || !custom("reloc.CODE") || !custom("reloc.DATA")) throw new Error("the module was linked without --emit-relocs");
  const symbols = symbolsOf(bytes, linking);
  const segments = segmentsOf(bytes, dataSection);

  const data = new Map();
  const places = [];
  symbols.forEach((symbol, number) => {
    if (symbol.type !== SYMBOL.data || symbol.segment === undefined) return;
    const segment = segments[symbol.segment];
    data.set(number, { address: segment.address + symbol.offset, size: symbol.size });
    const start = segment.start + symbol.offset;
    places.push({ start, end: start + symbol.size, number });
  });
  places.sort((a, b) => a.start - b.start || a.end - b.end);

  const imported = importedFunctions(bytes, one(SECTION.import));
  const nameOf = new Map();
  for (const { type, index, name } of symbols) {
    if (type === SYMBOL.function && index >= imported && name) nameOf.set(index - imported, [...(nameOf.get(index - imported) ?? []), name]);
  }
  const bodies = bodiesOf(bytes, code);
  const refers = (map, key, symbol) => {
    if (!map.has(key)) map.set(key, new Set());
    map.get(key).add(symbol);
  };
  const ofCode = new Map();
  for (const { type, offset, symbol } of relocationsOf(bytes, custom("reloc.CODE"))) {
    if (!MEMORY.has(type) || !data.has(symbol)) continue;
    const body = holder(bodies, offset);
    if (body < 0) throw new Error("a relocation outside all functions");
    const names = nameOf.get(body);
    if (!names) throw new Error(`function ${body} refers to data and has no name`);
    for (const name of names) refers(ofCode, name, symbol);
  }
  // Names that no relocation speaks of are known too: their functions refer to nothing.
  for (const names of nameOf.values()) for (const name of names) if (!ofCode.has(name)) ofCode.set(name, new Set());
  const ofData = new Map();
  for (const { type, offset, symbol } of relocationsOf(bytes, custom("reloc.DATA"))) {
    if (!MEMORY.has(type) || !data.has(symbol)) continue;
    const place = holder(places, offset);
    if (place < 0) throw new Error("a relocation outside all data");
    refers(ofData, places[place].number, symbol);
  }
  return { data, ofCode, ofData };
}
