import { InputError } from "@rouse/core/errors";
import { type Change, KIND_NAMES, mendImage, type VolumeKind } from "@rouse/core/volume";
import { readImage, writeNew } from "../store/index.ts";
import { paint, wrap } from "./text.ts";
import type { Output, Verb } from "./verb.ts";

function printChange(out: Output, change: Change, mark: "▲" | "●" | "■", colour: "green" | "yellow" | "red"): void {
  const lines = wrap(change.sentence, out.width, "    ");
  lines.forEach((line, i) => {
    out.line(i === 0 ? `  ${paint(out.colour, colour, mark)} ${line.slice(4)}` : line);
  });
}

export const verb: Verb = {
  usage: "IMAGE NEW",
  help: [
    "Mends the volume on an image into a new one, and lists what it changed. IMAGE itself is never touched.",
    "Allocation maps, copies of tables, links and counts are written anew; files that share blocks get copies of their",
    "own. A repair after which something readable could no longer be read is not made. What was gone before stays gone:",
    "repairs that only stop the volume from claiming it are marked ▲. What needs knowing more than the image says is left",
    "as it is, and told. NEW must not be there yet.",
  ],
  options: {
    kind: {
      type: "string",
      value: "KIND",
      about: `take it for this kind of volume: ${Object.keys(KIND_NAMES).join(", ")}`,
    },
    dry: { type: "boolean", about: "say what would be changed, and write nothing; NEW is not needed" },
    json: { type: "boolean", about: "print changes and what is left for machines" },
  },
  examples: [["rouse mend disk.img mended.img", "every repair that the image itself gives the answer to"]],
  async run({ positionals, values }, out) {
    const [from, target, extra] = positionals;
    const dry = values.dry === true;
    if (from === undefined || (target === undefined && !dry) || extra !== undefined)
      throw new InputError("two-names", "Name an image and the new one: rouse mend IMAGE NEW.");
    const { kind } = values;
    if (kind !== undefined && !Object.hasOwn(KIND_NAMES, String(kind)))
      throw new InputError(
        "no-such-kind",
        `There is no kind “${kind}”; there is ${Object.keys(KIND_NAMES).join(", ")}.`,
      );
    const { bytes } = await readImage(from);
    const mended = mendImage(bytes, kind === undefined ? {} : { kind: kind as VolumeKind });
    if (!dry) await writeNew(target!, mended.image);
    const { image: _, ...report } = mended;
    if (values.json) out.line(JSON.stringify({ from, to: dry ? null : target, ...report }, null, 2));
    else {
      out.line(paint(out.colour, "bold", `${KIND_NAMES[mended.kind]}, ${mended.format}`));
      if (mended.changes.length === 0) out.line("Nothing had to be changed.");
      else out.line(`${dry ? "Would be changed" : "Changed"}:`);
      for (const change of mended.changes)
        printChange(out, change, change.loss ? "▲" : "●", change.loss ? "yellow" : "green");
      if (mended.refused.length > 0) out.line("Not done, as something readable would be lost by it:");
      for (const change of mended.refused) printChange(out, change, "■", "red");
      if (mended.left.length > 0) out.line("Left as it is, because the image does not say what is right:");
      for (const damage of mended.left)
        printChange(out, { ...damage, loss: true, sentence: `${damage.sentence} To do: ${damage.repair}` }, "■", "red");
      if (!dry) out.line(`${target} is written; ${from} is as it was.`);
    }
    return mended.left.length > 0 ? 1 : 0;
  },
};
