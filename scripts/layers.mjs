// The layer rule: runs the dependency tool over the house, and proves that it bites by planting a violation.
import { spawnSync } from "node:child_process";
import { mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { transformSync } from "esbuild";

const root = fileURLToPath(new URL("..", import.meta.url));
const cruise = (...paths) => {
  const run = spawnSync(
    process.execPath,
    [
      "node_modules/dependency-cruiser/bin/dependency-cruise.mjs",
      "--config",
      ".dependency-cruiser.cjs",
      "--output-type",
      "json",
      ...paths,
    ],
    { cwd: root, encoding: "utf8", maxBuffer: 1 << 28 },
  );
  try {
    return JSON.parse(run.stdout).summary;
  } catch {
    throw new Error(`the dependency tool failed: ${run.stderr}`);
  }
};

/**
 * The house without its types, each file under its own name: the tool's parser reads no TSX, and types that know each
 * other make no circle.
 */
function plain(workspace) {
  const from = join(root, "packages", workspace, "src");
  const to = join(root, ".build/layers/packages", workspace, "src");
  rmSync(to, { recursive: true, force: true });
  for (const name of readdirSync(from, { recursive: true })) {
    if (!/\.tsx?$/.test(name) || /\.(test|d)\.tsx?$/.test(name)) continue;
    const { code } = transformSync(readFileSync(join(from, name), "utf8"), {
      loader: name.endsWith("x") ? "tsx" : "ts",
      jsx: "automatic",
    });
    const file = join(to, name.replace(/\.tsx$/, ".ts"));
    mkdirSync(dirname(file), { recursive: true });
    writeFileSync(file, code.replaceAll(/(["'][^"'\n]*)\.tsx(["'])/g, "$1.ts$2"));
  }
  return `.build/layers/packages/${workspace}/src`;
}

const LEAST_MODULES = 60;
const summary = cruise("packages/core/src", "packages/node/src", ...["core", "node", "web"].map(plain));
for (const violation of summary.violations)
  console.error(`layers: ${violation.from} → ${violation.to} (${violation.rule.name})`);
if (summary.totalCruised < LEAST_MODULES) {
  console.error(`layers: only ${summary.totalCruised} modules were read; the tool does not see the house`);
  process.exit(1);
}

// A planted room that looks up: if this is not caught, the rule is blind.
const planted = join(root, "packages/core/src/bytes/planted-violation");
mkdirSync(planted, { recursive: true });
writeFileSync(
  join(planted, "index.ts"),
  'import type { Finding } from "../../fit/index.ts";\nimport { readFileSync } from "node:fs";\nexport const planted = (x: Finding) => readFileSync(x.id);\n',
);
let caught;
try {
  caught = cruise("packages/core/src/bytes/planted-violation").violations.map((each) => each.rule.name);
} finally {
  rmSync(planted, { recursive: true });
}
for (const rule of ["core-bytes-looks-down", "core-is-pure"])
  if (!caught.includes(rule)) {
    console.error(`layers: a planted violation of ${rule} was not caught`);
    process.exit(1);
  }
console.log(
  `layers: ${summary.totalCruised} modules read, ${summary.violations.length} violations; two planted ones were caught`,
);
process.exit(summary.violations.length > 0 ? 1 : 0);
