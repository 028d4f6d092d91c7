#!/usr/bin/env node
// Starts the built command, which the build holds to ASCII: that is read quicker. V8's code cache, made at build time, spares most of the compiling; without it all works the same.
const { existsSync, readFileSync } = require("node:fs");
const { createRequire } = require("node:module");
const { join, dirname } = require("node:path");
const { Script } = require("node:vm");

const file = join(__dirname, "../dist/rouse.cjs");
if (!existsSync(file)) {
  console.error("rouse is not built yet: run `npm start` or `npm run build` in the clone first.");
  process.exit(70);
}
const cache = `${file}.cache`;
const script = new Script(readFileSync(file, "latin1"), {
  filename: file,
  ...(existsSync(cache) ? { cachedData: readFileSync(cache) } : {}),
});
const built = { exports: {} };
script.runInThisContext().call(built.exports, built.exports, createRequire(file), built, file, dirname(file));
module.exports = { script, run: built.exports.run };
if (require.main === module) built.exports.run(process.argv.slice(2));
