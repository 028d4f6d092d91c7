// npm test: installs what a fresh clone lacks, builds, and runs every test, those in the browser included.
// Arguments go to the test runner: npm test -- packages/core/src/volume
import { spawnSync } from "node:child_process";
import { ensureDebianPackages } from "./debian.mjs";
import { ensureBuild, ensureCodeCache, ensureDemo, ensurePackages, root } from "./ensure.mjs";

ensureDebianPackages();
ensurePackages();
ensureBuild();
ensureDemo();
ensureCodeCache();
const run = spawnSync(process.execPath, ["node_modules/vitest/vitest.mjs", "run", ...process.argv.slice(2)], {
  cwd: root,
  stdio: "inherit",
});
process.exit(run.status ?? 1);
