// npm start: installs, builds, makes the demo, prints its chain and opens the workbench. Nothing is done twice.
import { spawn, spawnSync } from "node:child_process";
import { ensureBuild, ensureCodeCache, ensureDemo, ensurePackages, root } from "./ensure.mjs";

ensurePackages();
ensureBuild();
ensureDemo();
ensureCodeCache();
const rouse = "packages/node/bin/rouse.js";
spawnSync(process.execPath, [rouse, "check", "demo/first-try", ...(process.stdout.isTTY ? [] : ["--no-colour"])], {
  cwd: root,
  stdio: ["ignore", "inherit", "inherit"],
});
const server = spawn(process.execPath, [rouse, "open", "demo/first-try", ...process.argv.slice(2)], {
  cwd: root,
  stdio: "inherit",
});
for (const signal of ["SIGINT", "SIGTERM"]) process.on(signal, () => server.kill(signal));
server.on("exit", (code) => process.exit(code ?? 0));
