// Makes V8's code cache of the built command after it has worked on the demo, so that what a first check or look needs is
// in it. The cache holds for this Node version only; another one passes it over.
import { rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { fileURLToPath } from "node:url";

const root = fileURLToPath(new URL("..", import.meta.url));
const cache = join(root, "packages/node/dist/rouse.cjs.cache");
rmSync(cache, { force: true });
process.chdir(root);
const { script, run } = createRequire(import.meta.url)("../packages/node/bin/rouse.js");
for (const args of [
  ["check", "demo/first-try"],
  ["check", "demo/mended", "--json"],
  ["look", "demo/mended/images/tern.img"],
])
  await run(args);
writeFileSync(cache, script.createCachedData());
process.exit(0);
