#!/usr/bin/env node
import { existsSync } from "node:fs";

const main = new URL("../dist/main.mjs", import.meta.url);
if (existsSync(main)) await import(main.href);
else {
  console.error("rouse is not built yet: run `npm start` or `npm run build` in the clone first.");
  process.exitCode = 70;
}
