#!/usr/bin/env node
// Starts the built command, which the build holds to ASCII: that is read quicker. V8's code cache, made at build time,
// spares most of the compiling; without it all works the same.
const { existsSync, readFileSync } = require("node:fs");
const { join, dirname } = require("node:path");
const { Script } = require("node:vm");

/** Verbs that have a bundle of their own, so that nothing else is read when they start. */
const ALONE = ["check", "look"];

/** The bundle that has a verb, set up and ready to run. */
function load(verb) {
  const file = join(__dirname, `../dist/${ALONE.includes(verb) ? verb : "rouse"}.cjs`);
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
  script.runInThisContext().call(built.exports, built.exports, require, built, file, dirname(file));
  return { file, script, run: built.exports.run };
}

module.exports = { ALONE, load };
if (require.main === module) {
  // Nothing is left to do then, and a plain end would first take the heap apart.
  process.once("beforeExit", () => process.exit());
  const [verb] = process.argv.slice(2);
  const { run } = load(verb);
  // These verbs are over before code pays that V8 compiles again in the background; larger work still gets there. It is
  // said after Node's own modules are loaded: their code cache holds for the usual flags. The flag is that of Node 20.
  if (ALONE.includes(verb) && process.versions.v8.startsWith("11."))
    require("node:v8").setFlagsFromString("--interrupt-budget=400000");
  run(process.argv.slice(2));
}
