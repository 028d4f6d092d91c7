// npm run speed: each figure as a ratio against a named reference measured in the same run, beside its aim.
import { run as command } from "./command.ts";
import { run as cpu } from "./cpu.ts";
import { run as diagnose } from "./diagnose.ts";
import { run as line } from "./line.ts";
import { run as phone } from "./phone.ts";
import { run as recording } from "./recording.ts";
import { run as rehearse } from "./rehearse.ts";
import { run as rehearseBrowser } from "./rehearse-browser.ts";
import { run as show } from "./show.ts";
import { run as survey } from "./survey.ts";
import { run as terminal } from "./terminal.ts";
import { run as timing } from "./timing.ts";
import type { Measured } from "./types.ts";

const PARTS: Record<string, () => Promise<readonly Measured[]>> = {
  survey,
  command,
  timing,
  recording,
  line,
  cpu,
  rehearse,
  "rehearse-browser": rehearseBrowser,
  show,
  diagnose,
  terminal,
  phone,
};

const wanted = process.argv.slice(2);
let missed = 0;
for (const [name, run] of Object.entries(PARTS)) {
  if (wanted.length > 0 && !wanted.includes(name)) continue;
  console.log(`\n${name}`);
  for (const each of await run()) {
    if (!each.met) missed++;
    console.log(`  ${each.met ? "●" : "▲"} ${each.name}: ${each.value.toPrecision(3)} ${each.unit} (aim ${each.aim})`);
  }
}
console.log(missed === 0 ? "\nEvery aim is met." : `\n${missed} aims are missed.`);
