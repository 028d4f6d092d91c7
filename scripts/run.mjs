// Bundles one TypeScript program of the house (demo, speed, fuzz) and runs it: node scripts/run.mjs FILE [arguments]
import { spawnSync } from "node:child_process";
import { basename, dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { build } from "esbuild";
import { yamlForEsbuild } from "./yaml-plugin.mjs";

const root = fileURLToPath(new URL("..", import.meta.url));
const [file, ...rest] = process.argv.slice(2);
if (!file) {
  console.error("Say which program: node scripts/run.mjs FILE [arguments]");
  process.exit(2);
}
const outfile = join(root, ".build", basename(dirname(file)), basename(file).replace(/\.ts$/, ".mjs"));
await build({
  absWorkingDir: root,
  entryPoints: [file],
  outfile,
  bundle: true,
  platform: "node",
  format: "esm",
  target: "node20",
  packages: "external",
  alias: { "@rouse/core": join(root, "packages/core/src"), "@rouse/node": join(root, "packages/node/src") },
  plugins: [yamlForEsbuild],
  logLevel: "warning",
});
const run = spawnSync(process.execPath, [outfile, ...rest], { cwd: root, stdio: "inherit" });
process.exit(run.status ?? 1);
