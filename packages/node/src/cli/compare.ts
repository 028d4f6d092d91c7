import { InputError } from "@rouse/core/errors";
import { formatNumber } from "@rouse/core/quantity";
import { compareImages } from "@rouse/core/volume";
import { readImage } from "../store/index.ts";
import { columns, paint } from "./text.ts";
import type { Verb } from "./verb.ts";

/** Runs of blocks shown without --all. */
const SHOWN = 20;

export const verb: Verb = {
  usage: "A B",
  help: [
    "Tells two images apart: by blocks, with their place on the disk and whose they are, and by files, with what differs.",
    "The exit code is 0 where they are the same, 1 where they differ.",
  ],
  options: {
    all: { type: "boolean", short: "a", about: "all runs of blocks that differ" },
    json: { type: "boolean", about: "print it for machines" },
  },
  examples: [["rouse compare disk.img mended.img", "what mending changed"]],
  async run({ positionals, values }, out) {
    const [a, b, extra] = positionals;
    if (a === undefined || b === undefined || extra !== undefined)
      throw new InputError("two-names", "Name two images: rouse compare A B.");
    const [first, second] = await Promise.all([readImage(a), readImage(b)]);
    const compared = compareImages(first.bytes, second.bytes);
    if (values.json) {
      out.line(JSON.stringify({ first: a, second: b, ...compared }, null, 2));
      return compared.same ? 0 : 1;
    }
    const [one, two] = compared.volumes;
    out.line(
      one === two
        ? (one ?? "No volume was recognised on either.")
        : `${a}: ${one ?? "no volume"}\n${b}: ${two ?? "no volume"}`,
    );
    if (compared.same) {
      out.line(paint(out.colour, "green", "● The images are the same, byte for byte."));
      return 0;
    }
    if (compared.sizes[0] !== compared.sizes[1])
      out.line(`${formatNumber(compared.sizes[0], 9)} bytes and ${formatNumber(compared.sizes[1], 9)} bytes.`);
    const differ =
      compared.differingBytes === 1 ? "1 byte differs" : `${formatNumber(compared.differingBytes, 9)} bytes differ`;
    const where = compared.differingBlocks === 1 ? "1 block" : `${formatNumber(compared.differingBlocks, 9)} blocks`;
    out.line(`${differ}, in ${where}:`);
    const runs = values.all ? compared.runs : compared.runs.slice(0, SHOWN);
    const rows = runs.map(({ from, to, place, files }) => [
      `  ${from === to ? `block ${from}` : `blocks ${from}–${to}`}`,
      place ?? "",
      files.join(", "),
    ]);
    for (const line of columns(rows)) out.line(line);
    const more = compared.runs.length - runs.length + compared.runsLeftOut;
    if (more > 0) out.line(`  and ${formatNumber(more)} runs more`);
    out.line();
    if (one === null || two === null) out.line("Files could not be compared, as not both images are volumes.");
    else if (compared.files.length === 0) out.line("Every file is the same on both.");
    else for (const each of compared.files) out.line(`  ${each.sentence}`);
    return 1;
  },
};
