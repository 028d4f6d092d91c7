// What a fresh clone lacks: npm packages, a build, the demo's images. Each is made only where it is missing or stale.
import { spawnSync } from "node:child_process";
import { existsSync, readdirSync, readFileSync, statSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";

export const root = fileURLToPath(new URL("..", import.meta.url));

const run = (what, command, args, out = "inherit") => {
  console.log(what);
  const done = spawnSync(command, args, { cwd: root, stdio: ["ignore", out, "inherit"] });
  if (done.status !== 0) {
    console.error(`${what} failed; see above.`);
    process.exit(done.status ?? 1);
  }
};

/** npm packages, when the lock file is newer than what was installed from it. */
export function ensurePackages() {
  const installed = join(root, "node_modules/.package-lock.json");
  const lock = join(root, "package-lock.json");
  const stamp = join(root, "node_modules/.rouse-lock");
  const wanted = readFileSync(lock, "utf8");
  if (existsSync(installed) && existsSync(stamp) && readFileSync(stamp, "utf8") === wanted) return;
  run("Installing npm packages …", "npm", ["ci", "--no-audit", "--no-fund", "--loglevel=error"]);
  writeFileSync(stamp, wanted);
}

const newest = (folder, skip = /^(node_modules|dist|\.build|images)$/) => {
  let time = 0;
  for (const entry of readdirSync(folder, { withFileTypes: true })) {
    if (skip.test(entry.name)) continue;
    const path = join(folder, entry.name);
    time = Math.max(time, entry.isDirectory() ? newest(path, skip) : statSync(path).mtimeMs);
  }
  return time;
};

const made = (file) => (existsSync(file) ? statSync(file).mtimeMs : 0);

/** The command and the workbench, when a source is newer than the last build. */
export function ensureBuild() {
  const sources = Math.max(
    newest(join(root, "packages")),
    newest(join(root, "scripts")),
    made(join(root, "package-lock.json")),
  );
  if (made(join(root, ".build/built")) >= sources) return;
  run("Building the command and the workbench …", process.execPath, ["scripts/build.mjs"]);
}

/** Only the command, for tests that are run by themselves. */
export function ensureCommand() {
  const sources = Math.max(newest(join(root, "packages/core")), newest(join(root, "packages/node")));
  if (made(join(root, "packages/node/dist/rouse.cjs")) >= sources) return;
  run("Building the command …", process.execPath, ["scripts/build.mjs", "node"]);
}

/** The demo's images: made from source by our own assembler and volume builders, never committed. */
export function ensureDemo() {
  const sources = Math.max(newest(join(root, "demo")), made(join(root, ".build/built")));
  if (made(join(root, ".build/demo-made")) >= sources && existsSync(join(root, "demo/mended/images"))) return;
  run("Making the demo's images …", process.execPath, ["scripts/run.mjs", "demo/make.ts"]);
  writeFileSync(join(root, ".build/demo-made"), "");
}

/** The command's code cache, made by letting it work on the demo. */
export function ensureCodeCache() {
  if (existsSync(join(root, "packages/node/dist/rouse.cjs.cache"))) return;
  run("Warming the command …", process.execPath, ["scripts/code-cache.mjs"], "ignore");
}
