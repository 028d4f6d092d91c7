// Builds what people run: the command (bundled and split, so that a verb loads only what it needs) and the workbench.
import { mkdirSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { build as bundle } from "esbuild";
import { build as buildPage } from "vite";
import { yamlForEsbuild } from "./yaml-plugin.mjs";

const root = fileURLToPath(new URL("..", import.meta.url));
const only = process.argv[2];

if (only !== "web") {
  const outdir = join(root, "packages/node/dist");
  rmSync(outdir, { recursive: true, force: true });
  await bundle({
    absWorkingDir: root,
    entryPoints: { main: "packages/node/src/cli/main.ts" },
    outdir,
    outExtension: { ".js": ".mjs" },
    bundle: true,
    splitting: true,
    minify: true,
    platform: "node",
    format: "esm",
    target: "node20",
    // Some libraries are CommonJS inside and ask for require.
    banner: {
      js: 'import { createRequire as _require } from "node:module"; const require = _require(import.meta.url);',
    },
    // The library's form for Node is CommonJS, which can be neither split nor trimmed.
    alias: { yaml: join(root, "node_modules/yaml/browser/index.js") },
    plugins: [yamlForEsbuild],
    logLevel: "warning",
  });
}
if (only !== "node") await buildPage({ root: join(root, "packages/web"), logLevel: "warn" });

mkdirSync(join(root, ".build"), { recursive: true });
if (!only) writeFileSync(join(root, ".build/built"), "");
