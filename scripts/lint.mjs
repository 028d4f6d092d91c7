// Everything that can be said of the source without running it: format and lint, types, layers, unused code, words.
import { spawnSync } from "node:child_process";
import { existsSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";

const root = fileURLToPath(new URL("..", import.meta.url));
const node = (...args) => ({ command: process.execPath, args });
const words = join(root, "../shared/tools/words");
const steps = [
  ["format and lint", node("node_modules/@biomejs/biome/bin/biome", "check", "--error-on-warnings", ".")],
  ["types", node("scripts/types.mjs")],
  ["layers", node("scripts/layers.mjs")],
  ["unused code", node("node_modules/knip/bin/knip.js", "--no-progress")],
  ["words", existsSync(words) ? { command: words, args: [] } : undefined],
];
let failed = 0;
for (const [name, step] of steps) {
  if (!step) {
    console.log(`lint: ${name} skipped, its list is not beside this clone`);
    continue;
  }
  const run = spawnSync(step.command, step.args, { cwd: root, stdio: "inherit" });
  console.log(`lint: ${name} ${run.status === 0 ? "passed" : "FAILED"}`);
  if (run.status !== 0) failed++;
}
process.exit(failed > 0 ? 1 : 0);
