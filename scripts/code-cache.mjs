// Makes V8's code cache of the built command after it has worked on the demo, so that what a first check or look needs is
// in it. The cache holds for this Node version only; another one passes it over.
import { rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { fileURLToPath } from "node:url";

const { ALONE, load } = createRequire(import.meta.url)("../packages/node/bin/rouse.js");
process.chdir(fileURLToPath(new URL("..", import.meta.url)));
const WORK = [
  ["check", "demo/first-try"],
  ["check", "demo/mended", "--json"],
  ["look", "demo/mended/images/tern.img"],
];
for (const name of [...ALONE, "rouse"]) {
  const { file, script, run } = load(name);
  rmSync(`${file}.cache`, { force: true });
  for (const args of WORK) if (name === "rouse" || args[0] === name) await run(args);
  writeFileSync(`${file}.cache`, script.createCachedData());
}
process.exit(0);
