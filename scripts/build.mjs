// Builds what people run: the command (a bundle each for the verbs that are run most, and one of all verbs, set up only
// when asked for) and the workbench.
import { mkdirSync, readFileSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { build as bundle } from "esbuild";
import { build as buildPage } from "vite";
import { yamlForEsbuild } from "./yaml-plugin.mjs";

const root = fileURLToPath(new URL("..", import.meta.url));
const { ALONE } = createRequire(import.meta.url)("../packages/node/bin/rouse.js");
const only = process.argv[2];

/** A bundle of the command, from what stands in packages/node/src/cli. */
async function bundleCommand(name, contents) {
  const outdir = join(root, "packages/node/dist");
  const made = join(outdir, `${name}-${process.pid}.cjs`);
  await bundle({
    absWorkingDir: root,
    stdin: { contents, resolveDir: join(root, "packages/node/src/cli"), loader: "ts" },
    outfile: made,
    bundle: true,
    minify: true,
    platform: "node",
    format: "cjs",
    target: "node20",
    supported: { "dynamic-import": false },
    define: { "import.meta.url": "import_meta.url" },
    // As `bin/rouse.js` runs it: one function, that no copy of the text has to be made around it.
    banner: {
      js: "(function (exports, require, module, __filename, __dirname) { const import_meta = { get url() { return require('node:url').pathToFileURL(__filename).href; } };",
    },
    footer: { js: "})" },
    // The library's form for Node is CommonJS, which can't be trimmed.
    alias: { yaml: join(root, "node_modules/yaml/browser/index.js") },
    plugins: [yamlForEsbuild],
    // It has a compiled part of its own, and loads only when a port is opened.
    external: ["serialport"],
    logLevel: "warning",
  });
  const odd = /.{0,40}[^\0-\x7f].{0,40}/.exec(readFileSync(made, "utf8"));
  if (odd) {
    rmSync(made);
    throw new Error(`The command's bundle is not ASCII; write \\u escapes in regular expressions: ${odd[0]}`);
  }
  // Commands that run meanwhile find the old one or the new one, never half of it.
  rmSync(join(outdir, `${name}.cjs.cache`), { force: true });
  renameSync(made, join(outdir, `${name}.cjs`));
}

if (only !== "web") {
  for (const verb of ALONE)
    await bundleCommand(
      verb,
      `import { commandOf } from "./command.ts";
      import * as verb from "./${verb}.ts";
      export const run = commandOf({ ${verb}: { about: "", load: async () => verb } });`,
    );
  await bundleCommand("rouse", 'export * from "./main.ts";');
}
if (only !== "node") {
  const page = { root: join(root, "packages/web"), logLevel: "warn" };
  await buildPage(page);
  await buildPage({ ...page, configFile: join(page.root, "vite.phone.config.ts") });
}

mkdirSync(join(root, ".build"), { recursive: true });
if (!only) writeFileSync(join(root, ".build/built"), "");
