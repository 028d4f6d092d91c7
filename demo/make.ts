// Makes the images of the three demo jobs from their sources: node scripts/run.mjs demo/make.ts
import { mkdir } from "node:fs/promises";
import { dirname, join } from "node:path";
import { writeWhole } from "@rouse/node/store";
import { demoImages } from "./images.ts";

for (const [path, bytes] of demoImages("demo")) {
  await mkdir(dirname(join("demo", path)), { recursive: true });
  await writeWhole(join("demo", path), bytes);
  console.log(`demo/${path}: ${bytes.length.toLocaleString("en")} bytes`);
}
