// A disk that is really full: the profile lies on a small one. What was shown as kept is there after a kill, and what was
// not is said. Part of `make chaos`; it needs the right to mount a disk in memory, and says so where it has none.
//
//   node tests/journey/full-disk.mjs [ROUNDS]

import { execFileSync } from "node:child_process";
import { mkdtempSync, rmSync, statfsSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { dist } from "../../tools/paths.mjs";
import { serve } from "../../tools/serve.mjs";
import { ENGINES, begin, until } from "./chaos.mjs";

const MEGABYTES = 120;
const WRITES = 6;

/** Puts so many letters into the notes that no packing makes them small, and waits for the mark to settle. */
async function write(page, number, length) {
  await page.evaluate(([number, length]) => {
    const field = document.querySelector("#notes");
    let text = `${number} `;
    while (text.length < length) text += Math.random().toString(36).slice(2);
    field.value = text;
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }, [number, length]);
  return until(page, () => {
    const mark = document.querySelector(".kept")?.dataset.kept;
    return mark && mark !== "keeping" ? mark : null;
  });
}

async function round(engine, url) {
  const disk = mkdtempSync(join(tmpdir(), "sixty-ohms-"));
  execFileSync("mount", ["-t", "tmpfs", "-o", `size=${MEGABYTES}m`, "tmpfs", disk]);
  let browser;
  try {
    browser = await ENGINES[engine](disk);
    const address = await begin(browser, url);
    const page = await browser.page();
    await page.goto(address);
    await until(page, () => (document.querySelector("#notes") ? true : null));
    if ((await write(page, 0, 10)) !== "kept") throw new Error("not kept while there is room");
    const { bavail, bsize } = statfsSync(disk);
    try {
      writeFileSync(join(disk, "junk"), Buffer.alloc(bavail * bsize + 1e6, 1));
    } catch {
      // The disk is full, as it should be.
    }
    let shown = 0;
    let said = 0;
    for (let number = 1; number <= WRITES; number++) {
      if ((await write(page, number, 150_000)) === "kept") shown = number;
      else said += 1;
    }
    await browser.kill();
    rmSync(join(disk, "junk"));
    browser = await ENGINES[engine](disk);
    const again = await browser.page();
    await again.goto(address);
    const found = await until(again, () => document.querySelector("#notes")?.value.split(" ")[0] ?? null);
    return { said, lost: Number(found) < shown ? 1 : 0 };
  } finally {
    await browser?.kill();
    await new Promise((done) => setTimeout(done, 500));
    execFileSync("umount", [disk]);
    rmSync(disk, { recursive: true, force: true });
  }
}

const rounds = Number(process.argv[2] ?? 3);
const server = await serve({ dir: dist });
let lost = 0;
try {
  for (const engine of Object.keys(ENGINES)) {
    const all = [];
    for (let n = 0; n < rounds; n++) all.push(await round(engine, server.url));
    const said = all.reduce((sum, one) => sum + one.said, 0);
    const gone = all.reduce((sum, one) => sum + one.lost, 0);
    console.log(`${engine}: ${rounds} full disks, ${rounds * WRITES} changes, ${said} said as not kept in both stores, ${gone} shown as kept and lost`);
    lost += gone;
  }
} catch (error) {
  if (!/mount/.test(error.message)) throw error;
  console.log(`full disks: not run, since no disk can be mounted here (${error.message.split("\n")[0]})`);
} finally {
  await server.stop();
}
process.exit(lost > 0 ? 1 : 0);
