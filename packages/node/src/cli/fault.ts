import { mkdtempSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { VERSION } from "../job/version.ts";

/** Writes what those who mend Rouse need: the command, the versions, the trace; no file contents. Gives the path. */
export function writeFault(error: unknown, args: readonly string[]): string {
  const traces: string[] = [];
  for (let each = error; each instanceof Error && traces.length < 5; each = each.cause)
    traces.push(each.stack ?? each.message);
  const text = [
    `Rouse ${VERSION}, Node ${process.version}, ${process.platform} ${process.arch}`,
    `command: rouse ${args.map((arg) => JSON.stringify(arg)).join(" ")}`,
    "",
    ...(traces.length > 0 ? traces : [String(error)]),
    "",
  ].join("\n");
  const file = join(mkdtempSync(join(tmpdir(), "rouse-fault-")), "report.txt");
  writeFileSync(file, text);
  return file;
}
