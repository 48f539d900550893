// Runs every tests/crosscheck/crosscheck_*.py in the environment that set-up made. One that disagrees fails the run;
// so does a folder without any.

import { spawnSync } from "node:child_process";
import { readdirSync } from "node:fs";
import { join } from "node:path";
import { crosscheckPython, root } from "./paths.mjs";

const folder = join(root, "tests", "crosscheck");
const scripts = readdirSync(folder).filter((name) => /^crosscheck_\w+\.py$/.test(name)).sort();
if (scripts.length === 0) throw new Error("tests/crosscheck holds no crosscheck_*.py");
const failed = scripts.filter((script) => {
  console.log(`\n${script}`);
  const { status } = spawnSync(crosscheckPython().python, [join(folder, script)], { stdio: "inherit", cwd: root });
  return status !== 0;
});
if (failed.length > 0) {
  console.error(`\nThe cross-check disagrees: ${failed.join(", ")}`);
  process.exit(1);
}
