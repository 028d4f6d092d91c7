// Type-checks the four programs of the house: core without Node or the DOM, node, web, and the tools with all tests.
import { spawnSync } from "node:child_process";
import { fileURLToPath } from "node:url";

const root = fileURLToPath(new URL("..", import.meta.url));
const projects = process.argv.slice(2);
let failed = false;
for (const project of projects.length > 0 ? projects : ["packages/core", "packages/node", "packages/web", "."]) {
  const run = spawnSync(process.execPath, ["node_modules/typescript/bin/tsc", "-p", project], {
    cwd: root,
    stdio: "inherit",
  });
  if (run.status !== 0) failed = true;
  else console.log(`types: ${project} is sound`);
}
process.exit(failed ? 1 : 0);
