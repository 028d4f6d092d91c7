// Catalogue files are YAML for people; programs get them as plain data at build time, so that nothing parses YAML at start.
import { readFileSync } from "node:fs";
import { parse } from "yaml";

const toModule = (text) => `export default ${JSON.stringify(parse(text, { version: "1.2" }))};`;

export const yamlForEsbuild = {
  name: "yaml",
  setup(build) {
    build.onLoad({ filter: /\.yaml$/ }, (args) => ({
      contents: toModule(readFileSync(args.path, "utf8")),
      loader: "js",
    }));
  },
};

export const yamlForVite = {
  name: "yaml",
  transform(code, id) {
    return id.endsWith(".yaml") ? { code: toModule(code), map: null } : null;
  },
};
