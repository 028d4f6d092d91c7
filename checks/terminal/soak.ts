// node scripts/run.mjs checks/terminal/soak.ts [streams]: the screen model against @xterm/headless on 100,000 streams.
import { ALLOWED } from "./allowed.ts";
import { compare } from "./compare.ts";

const streams = Number(process.argv[2] ?? 100_000);
const start = Date.now();
const { agreed, allowed, differ } = await compare(0, streams);
console.log(`${streams} streams in ${((Date.now() - start) / 1000).toFixed(0)} s: ${agreed} agree as they are`);
for (const { name, clause } of ALLOWED)
  console.log(`  ${String(allowed.get(name) ?? 0).padStart(6)} agree without: ${name} (${clause})`);
for (const each of differ.slice(0, 5))
  console.log(
    `stream ${each.seed} ${each.stream}\n ours   ${JSON.stringify(each.ours)}\n theirs ${JSON.stringify(each.theirs)}`,
  );
console.log(differ.length === 0 ? "No other difference." : `${differ.length} streams differ.`);
process.exit(differ.length === 0 ? 0 : 1);
