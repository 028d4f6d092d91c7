// Catalogue files are YAML for people; programs get them as plain data at build time, so that nothing parses YAML at start.
// With `?text` behind its name any file is taken in as it stands.
import { readFileSync } from "node:fs";
import { resolve } from "node:path";
import { parse } from "yaml";

// Engines read JSON faster than an object literal of the same size.
const toModule = (text) =>
  `export default JSON.parse(${JSON.stringify(JSON.stringify(parse(text, { version: "1.2" })))});`;

export const yamlForEsbuild = {
  name: "yaml",
  setup(build) {
    build.onResolve({ filter: /\?text$/ }, (args) => ({
      path: resolve(args.resolveDir, args.path.replace(/\?text$/, "")),
      namespace: "text",
    }));
    build.onLoad({ filter: /./, namespace: "text" }, (args) => ({
      contents: readFileSync(args.path, "utf8"),
      loader: "text",
    }));
    build.onLoad({ filter: /\.yaml$/ }, (args) => ({
      contents: toModule(readFileSync(args.path, "utf8")),
      loader: "js",
    }));
  },
};

export const yamlForVite = {
  name: "yaml",
  transform(code, id) {
    if (id.endsWith("?text")) return { code: `export default ${JSON.stringify(code)};`, map: null };
    return id.endsWith(".yaml") ? { code: toModule(code), map: null } : null;
  },
};
